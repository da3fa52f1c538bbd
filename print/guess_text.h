// What a text looks like: its characters, its line ends, and whether it is a listing.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "print/charset.h"

namespace stationer::print {

enum class LineEnd : std::uint8_t { none, lf, cr_lf, cr };

struct TextGuess {
  // What the bytes above 7F speak for: none if there are none, or if they speak for nothing.
  std::optional<Charset> charset;
  bool above_7f = false;
  bool parity = false;  // bit 8 is not the characters'
  LineEnd line_end = LineEnd::none;
};

// The text is the first part of a longer one; it may end anywhere.
TextGuess guess_text(std::string_view text);

// True only if the first column of its lines moves the paper (print/listing.h) beyond reasonable
// doubt: indented text, numbered lists, tables of numbers and lists of changes have the same
// characters there.
bool is_listing(std::string_view text);

// How many of the lines begin with something that no listing has there, and how many there are.
struct FirstColumns {
  std::size_t odd = 0;
  std::size_t lines = 0;
};
FirstColumns first_columns(std::string_view text);

}  // namespace stationer::print
