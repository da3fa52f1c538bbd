// The lengths and spacings that ECMA-48 (5th edition, 1991) names by number, in u. What is not a
// whole number of u is rounded: by less than half a point over a page.
#pragma once

#include <cstdint>
#include <optional>

#include "print/units.h"

namespace stationer::print {

// In units of SSU's (8.3.139). `character` is what the unit 0 is: the spacing there is. Nothing for
// a unit that the standard doesn't have; a length is from 1 u to what no sheet is longer than.
std::optional<Units> length_of(std::uint32_t number, std::uint32_t unit, Units character);
bool is_size_unit(std::uint32_t unit);

// Character spacing by SHS (8.3.118), line spacing by SVS (8.3.149).
std::optional<Units> character_spacing(std::uint32_t choice);
std::optional<Units> line_spacing(std::uint32_t choice);

// The sheet that PFS (8.3.91) asks for: A4, Letter or Legal, upright or not.
struct SheetSize {
  Units width = 0;
  Units height = 0;
};
std::optional<SheetSize> sheet_size(std::uint32_t choice);

}  // namespace stationer::print
