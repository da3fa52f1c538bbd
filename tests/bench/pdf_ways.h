// The ways to a PDF that pdf_bench compares.
//
// Text is pages of 66 lines, each ended by a line feed, of up to 80 ASCII characters. Styled text
// has some words struck twice (bold) or over underscores (underlined), as text programs send it.
// Graphics is a picture of 960 x 792 dots on every page, at 120 x 72 dots to the inch.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace stationer::bench {

enum class Kind : std::uint8_t { text, styled, graphics };
inline constexpr std::array<std::string_view, 3> kind_names = {"text", "styled text", "graphics"};

inline constexpr unsigned picture_columns = 960;
inline constexpr unsigned picture_rows = 792;

struct Job {
  Kind kind = Kind::text;
  int pages = 0;
  std::string text;                               // of text and styled text
  std::vector<std::vector<std::uint8_t>> images;  // rows of bits, used in turn
};

struct Way {
  std::string name;
  // Bytes of PDF made of the job.
  std::function<std::uint64_t(const Job& job)> make;
  std::vector<Kind> kinds;       // what it can do
  bool starts_programs = false;  // outside this process, so a short job is measured with starting
  int most_pages = 1'000'000;    // beyond that it takes too long to wait for
};

// Those whose libraries and programs are there; `missing` tells of the others.
std::vector<Way> ways(std::vector<std::string>& missing);

}  // namespace stationer::bench
