// Moments as people write them: "2026-12-01 15:30", by the host's time zone.
#pragma once

#include <string>
#include <string_view>

#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

std::string local_time_text(Time time);
// "Monday, 2026-11-30"
std::string local_day_text(Time time);

// The first moment of the day that `time` is in, or of one so many days later. Weeks begin on
// Monday (ISO 8601).
Time local_day(Time time, int days_later = 0);
Time local_week(Time time, int weeks_later = 0);

// Reads a day, or a day and a time of it: "2026-12-01", which is its first minute, or
// "2026-12-01 15:30". Code::bad_input for what is no such moment: a 30th of February, a minute that
// the clock leaves out in spring.
Result<Time> parse_local_time(std::string_view text);

}  // namespace stationer::fs
