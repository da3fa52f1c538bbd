// The unit of every length on a page: 1/2160 inch, written u.
//
// 2160 is the least common multiple of the densities printers of the trade move by: vertical feeds
// of 1/216 and 1/360 inch, horizontal dots of 60 to 720 to the inch. So pitches and feeds are whole
// numbers, and adding up a page of them loses nothing. What isn't whole (millimetres, 16.5
// characters an inch) is rounded once, from its absolute position.
#pragma once

#include <cstdint>

namespace stationer::print {

using Units = std::int32_t;

inline constexpr Units units_per_inch = 2160;
inline constexpr Units units_per_point = 30;  // a PDF point is 1/72 inch

// inches(1, 6) is a sixth of an inch. Doesn't compile for what isn't a whole number of u.
consteval Units inches(int numerator, int denominator = 1) {
  if (numerator * units_per_inch % denominator != 0) throw "not a whole number of units";
  return numerator * units_per_inch / denominator;
}

}  // namespace stationer::print
