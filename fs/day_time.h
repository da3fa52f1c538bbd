// Times of the day, by the box's own clock: pure rules. `zone` is what that shows more than UTC.
#pragma once

#include <chrono>
#include <optional>
#include <string_view>

#include "fs/ids.h"

namespace stationer::fs {

// "03:00" as minutes after midnight; nothing for what is no such time.
std::optional<std::chrono::minutes> time_of_day(std::string_view text);

// When it was last that time of day: now, or at most a day ago.
Time last_at(std::chrono::minutes time_of_day, Time now, std::chrono::seconds zone);

}  // namespace stationer::fs
