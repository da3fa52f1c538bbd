// Moments as people write them: "2026-12-01 15:30", by the host's time zone.
#pragma once

#include <string>
#include <string_view>

#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

std::string local_time_text(Time time);

// Reads a day, or a day and a time of it: "2026-12-01", which is its first minute, or
// "2026-12-01 15:30". Code::bad_input for what is no such moment: a 30th of February, a minute that
// the clock leaves out in spring.
Result<Time> parse_local_time(std::string_view text);

}  // namespace stationer::fs
