// An alphabet drawn for a print head of nine needles: ASCII, and the letters and signs of the
// national sets. Our own drawing; dot_alphabet.cpp is the picture of it.
#pragma once

#include <array>
#include <cstdint>
#include <optional>

namespace stationer::print {

// A character's dots: nine rows, the top one first, of twelve columns, the leftmost in the highest
// of the lower twelve bits. Two rows are below the baseline. Columns are half as far apart as dots
// may be: no two dots are side by side in a row, as the needles of such heads come back too late
// for that.
using DotRows = std::array<std::uint16_t, 9>;
inline constexpr unsigned dot_columns = 12;

// Nothing for characters that aren't drawn.
std::optional<DotRows> drawn_dots(char32_t character);

}  // namespace stationer::print
