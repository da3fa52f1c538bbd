// What a job amounted to, for accounting and for "why does it look like that?".
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace stationer::print {

// A code that the job's language does not have, and where it stands in the job: the bytes that tell
// it apart (a control code; ESC and what follows).
struct UnknownCode {
  std::uint64_t offset = 0;  // of its first byte, from the job's beginning
  std::array<std::uint8_t, 4> bytes{};
  std::uint8_t size = 0;  // how many of those

  bool operator==(const UnknownCode&) const = default;
};

struct JobReport {
  static constexpr std::size_t most_shown = 20;

  std::uint64_t pages = 0;
  std::uint64_t characters = 0;        // printed ones; spaces aren't counted
  std::uint64_t unreadable = 0;        // bytes that mean nothing in the character set
  std::uint64_t unknown_controls = 0;  // codes without a meaning in the job's language
  std::uint64_t escape_sequences = 0;  // of another language, skipped
  std::uint64_t blots = 0;             // places with characters upon each other that make no sense;
                                       // many of them tell of carriage returns without line feeds
  std::uint64_t crowded_out = 0;       // characters, lines and passes of dots beyond what one page
                                       // holds
  std::uint64_t missing_glyphs = 0;    // characters shown as a box
  std::vector<UnknownCode> unknown;    // the first of the unknown controls
  std::vector<std::uint64_t> parts;    // pages of each printout that it became

  void count_unknown(const UnknownCode& code) {
    ++unknown_controls;
    if (unknown.size() < most_shown) unknown.push_back(code);
  }

  // What another interpreter made of the job's next section, which begins at `offset`. Pages are
  // counted where they are printed.
  void add_section(const JobReport& section, std::uint64_t offset) {
    characters += section.characters;
    unreadable += section.unreadable;
    const std::uint64_t controls = unknown_controls + section.unknown_controls;
    for (UnknownCode code : section.unknown) {
      code.offset += offset;
      count_unknown(code);
    }
    unknown_controls = controls;
    escape_sequences += section.escape_sequences;
    blots += section.blots;
    crowded_out += section.crowded_out;
  }
};

}  // namespace stationer::print
