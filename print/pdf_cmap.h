// The text of CMaps (Adobe Technical Notes 5014 and 5411): what the codes of a printout's text
// stand for. Codes below 80 have one byte, those from 8000 up have two.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace stationer::print {

// From codes to the CIDs of the same number, for all codes that share a high byte with one of
// `codes`, which are in order.
std::string cid_cmap(std::string_view name, const std::vector<std::uint16_t>& codes);

// From codes to Unicode.
std::string unicode_cmap(const std::vector<std::pair<std::uint16_t, char32_t>>& characters);

}  // namespace stationer::print
