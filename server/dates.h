// Dates and times as people write them to the keeper's commands.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "fs/ids.h"

namespace stationer::server {

// "2026-11-25" or "2026-11-25 19:30" in the box's own time, or "2026-11-25T19:30:00Z" as in RFC
// 3339, with or without milliseconds. A day without a time is its first moment, or with `end` the
// first moment of the day after. From 1970 to 2199; nothing for what is no date.
std::optional<fs::Time> parse_date(std::string_view text, bool end = false);

// What is said of a date that can't be read.
std::string date_complaint(std::string_view text);

}  // namespace stationer::server
