// The text of CMaps (Adobe Technical Notes 5014 and 5411): what the codes of a printout's text
// stand for. Codes below 80 have one byte, those from 8000 up have two.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace stationer::print {

// Whether text may hold it: no control codes, no halves of surrogate pairs, and none of the values
// that a way back to Unicode must not have (ISO 19005-2 section 6.2.11.7).
constexpr bool is_text(char32_t character) {
  return character >= 0x20 && (character < 0x7F || character > 0x9F) &&
         (character < 0xD800 || character > 0xDFFF) && character < 0x110000 &&
         character != 0xFEFF && (character & 0xFFFE) != 0xFFFE;
}

// From codes to the CIDs of the same number, for all codes that share a high byte with one of
// `codes`, which are in order.
std::string cid_cmap(std::string_view name, const std::vector<std::uint16_t>& codes);

// From codes to Unicode.
std::string unicode_cmap(const std::vector<std::pair<std::uint16_t, char32_t>>& characters);

// The same for fonts all of whose codes have one byte.
std::string unicode_cmap_of_bytes(
    const std::vector<std::pair<std::uint16_t, char32_t>>& characters);

}  // namespace stationer::print
