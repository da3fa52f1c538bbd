// How sizes, dates and names are worded in lists.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "fs/ids.h"

namespace stationer::server {

// At most five characters and a unit: "980", "64.0K", "1.2M".
std::string short_size(std::uint64_t bytes);

// "2026-11-25 19:30", by the host's time zone.
std::string short_date(fs::Time time);

// `text` in a field of `width` cells, cut with a ~ at its end if it is longer.
std::string padded(std::string_view text, std::size_t width);

// "1 page", "3 pages".
std::string counted(std::uint64_t number, std::string_view thing);

}  // namespace stationer::server
