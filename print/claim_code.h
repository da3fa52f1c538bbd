// The code by which somebody shows that a printout that nobody has claimed is theirs: whoever keeps
// the room tells it to the person at the machine, who types it at any terminal. Pure.
//
// Eight letters and digits that every keyboard has and no typeface confuses: 39.6 bits, made of the
// job's number and a secret of the volume, so that nothing has to be stored.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace stationer::print {

std::string claim_code(std::string_view secret, std::uint32_t job);  // "k7fm2q9x"

// As it is shown: "k7fm 2q9x".
std::string shown_claim_code(std::string_view code);

// What was typed, in any case and with anything between the letters and digits, as a code.
std::string typed_claim_code(std::string_view typed);

}  // namespace stationer::print
