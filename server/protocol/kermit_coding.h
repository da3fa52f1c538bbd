// How bytes go into the data of Kermit packets: control characters, the eighth bit and repetition
// by prefixes. Source: Kermit Protocol Manual, 6th ed., F. da Cruz, June 1986: sections 4.4
// and 6.1.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

#include "server/protocol/kermit_terms.h"

namespace stationer::server::kermit {

// Takes bytes off the front of `bytes` and gives at most `room` characters for them; no prefix is
// parted from what it belongs to.
std::string encode(std::string_view& bytes, std::size_t room, const Terms& terms);
// All of it, for the data of a file's header and the like.
std::string encode_all(std::string_view bytes, const Terms& terms);

// Nothing when a prefix lacks what belongs to it.
std::optional<std::string> decode(std::string_view data, const Terms& terms);

}  // namespace stationer::server::kermit
