// Lengths as PDF has them: points of 1/72 inch, here in whole ten-thousandths, which is finer than
// any printer and keeps sums exact.
#pragma once

#include <cstdint>
#include <string>

#include "print/units.h"

namespace stationer::print {

using Points = std::int64_t;  // ten-thousandths of a point

inline constexpr Points parts_of_a_point = 10'000;

namespace detail {

constexpr Points divide_rounded(std::int64_t dividend, std::int64_t divisor) {
  return (dividend + (dividend < 0 ? -divisor / 2 : divisor / 2)) / divisor;
}

}  // namespace detail

constexpr Points points_of_units(Units length) {
  return detail::divide_rounded(length * parts_of_a_point, units_per_point);
}

// 25,400 um are 72 points.
constexpr Points points_of_micrometres(int micrometres) {
  return detail::divide_rounded(std::int64_t{micrometres} * 72 * parts_of_a_point, 25'400);
}

// Such as "595.2756", "12" or "-0.5".
void append_points(std::string& out, Points length);
std::string text_of(Points length);

}  // namespace stationer::print
