// What a job looks like by its beginning, for people who wonder why a printout came out odd. It
// advises and never decides: the same bytes mean one thing to one printer and another to the next,
// so what a job is printed as is the queue's to say (print/language.h).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "print/charset.h"
#include "print/guess_text.h"
#include "print/settings.h"

namespace stationer::print {

// How much of a job is looked at.
inline constexpr std::size_t guessed_bytes = std::size_t{8} << 10;

struct Guess {
  enum class Looks : std::uint8_t {
    text,  // also when nothing speaks for anything else
    listing,
    dot_codes,
    ecma48,
    other,  // something that none of the languages is; `what` says it
  };

  Looks looks = Looks::text;
  std::string what;           // in words: "dot-matrix codes"
  std::string_view language;  // by its name (print/language.h); empty if none prints it
  std::string evidence;       // "ESC @ at byte 0, ESC E 41 times"; empty for plain text
  TextGuess text;
};

// Of the first bytes of a job: `guessed_bytes` of them, or all if it is shorter.
Guess guess(std::string_view beginning);

// In a sentence or two, what it looks like, why, and what to set instead; empty when the settings
// fit what it looks like.
std::string advice(std::string_view beginning, const Settings& settings);

}  // namespace stationer::print
