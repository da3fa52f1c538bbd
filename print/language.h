// What a job's bytes are written in, which is set for a queue: the same bytes mean one thing to one
// printer and another to the next, so nothing guesses.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>

#include "fs/result.h"

namespace stationer::print {

enum class Language : std::uint8_t {
  text,         // print/plain_text.h
  listing,      // print/listing.h
  nine_pin,     // print/dot_matrix.h
  twenty_four,  // the same
  ecma48,       // print/ecma48.h
};

struct LanguageName {
  Language language;
  std::string_view name;   // as settings write it
  std::string_view title;  // for people
};

std::span<const LanguageName> languages();
std::string_view name_of(Language language);

// Code::bad_input with the names there are.
fs::Result<Language> find_language(std::string_view name);

}  // namespace stationer::print
