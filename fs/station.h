// What a registered station must be like, and how its numbers and addresses are written. Pure
// rules.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "fs/result.h"

namespace stationer::fs {

// The largest room: 127 segments, bridged in a chain, of 254 stations. Common practice, no source.
inline constexpr std::uint32_t most_segments = 127;
inline constexpr std::uint32_t most_on_segment = 254;

// "1.12": the station 12 on segment 1.
std::string station_number(std::uint32_t segment, std::uint32_t number);
// The two numbers of such a text; nothing when it is not of that form, whatever the numbers are.
std::optional<std::pair<std::uint32_t, std::uint32_t>> read_station_number(std::string_view text);

// The stored form, by the rule for account names; a name can't look like a number.
Result<std::string> station_name(std::string_view typed);

// The stored form of an IPv4 or IPv6 address (RFC 5952); an IPv4 address written as an IPv6 one
// (RFC 4291 §2.5.5.2) becomes what it is.
Result<std::string> network_address(std::string_view typed);

// The stored form of a hardware address, "02:00:5e:00:00:01": six octets (IEEE 802 §8), typed with
// colons, dashes, dots or nothing between them. Those of groups are refused, and the one of zeros.
Result<std::string> hardware_address(std::string_view typed);

// The stored form of the doors that a station may use, each followed by a space.
Result<std::string> station_doors(const std::vector<std::string>& typed);

}  // namespace stationer::fs
