// The arguments of a dot-matrix printer's commands as numbers.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "print/units.h"

namespace stationer::print {

using DotArguments = std::span<const std::uint8_t>;

// Switches may be sent as numbers or as digits (FX manual 8-2); none above the largest.
inline std::optional<unsigned> digit(std::uint8_t byte, unsigned largest) {
  const unsigned number = byte >= '0' && byte <= '9' ? byte - '0' : byte;
  if (number > largest) return std::nullopt;
  return number;
}

inline Units word(DotArguments bytes) {
  return bytes[0] + 256 * bytes[1];
}

// Two's complement, of 16 bits by the printers' manuals and of 15 by the ESC/P Reference Manual
// no head moves so far that they'd differ.
inline Units signed_word(DotArguments bytes) {
  const Units value = word(bytes);
  if (value >= 0x8000) return value - 0x10000;
  return value >= 0x4000 ? value - 0x8000 : value;
}

}  // namespace stationer::print
