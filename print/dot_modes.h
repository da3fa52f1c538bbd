// The densities of bit images on dot-matrix printers (ESC/P Reference Manual, 1997, R-67): how far
// apart dots are, and how many a column has.
#pragma once

#include <cstdint>
#include <optional>

#include "print/units.h"

namespace stationer::print {

// The needles of the head.
enum class Pins : std::uint8_t { nine, twenty_four };

// How far below the top of the needles the lowest of a letter's dots is: the seventh of nine, the
// twentieth of 24 (ESC/P Reference Manual R-62).
constexpr Units first_baseline(Pins pins) {
  return pins == Pins::nine ? inches(7, 72) : inches(20, 180);
}

struct DotMode {
  Units across = 0;        // from one column to the next
  Units down = 0;          // from one dot of a column to the next
  unsigned bytes = 1;      // a column; the top dot is the highest bit of the first
  bool neighbours = true;  // false: the head is too slow for two dots side by side in a row
};

// By the number that ESC * gives it; none when these printers don't have it.
std::optional<DotMode> find_dot_mode(Pins pins, std::uint8_t number);

// That of ESC ^, which has nine dots, the ninth in a second byte; by its own number, 0 or 1.
std::optional<DotMode> find_nine_dot_mode(std::uint8_t number);

// How long a column of a mode is on whatever printer has it; 1 for numbers that none has, which is
// as good a guess as any.
unsigned bytes_a_column(std::uint8_t number);

}  // namespace stationer::print
