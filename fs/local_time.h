// Moments as people write them: "2026-12-01 15:30", by the host's time zone.
#pragma once

#include <chrono>
#include <cstdint>
#include <string>
#include <string_view>

#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

// What the host's clock shows more than UTC then.
std::chrono::seconds zone_at(Time time);

std::string local_time_text(Time time);
// "Monday, 2026-11-30"
std::string local_day_text(Time time);

// The first moment of the day that `time` is in, or of one so many days later. Weeks begin on
// Monday (ISO 8601).
Time local_day(Time time, int days_later = 0);
Time local_week(Time time, int weeks_later = 0);

// What a day without a time of it stands for: its first moment, or the first of the day after, for
// what lasts until that day and counts it whole.
enum class DayMeans : std::uint8_t { start, end };

// Reads a day, "2026-12-01"; a day and a time of it, "2026-12-01 15:30"; or a moment as in RFC 3339
// in UTC, "2026-12-01T13:30:00Z", with or without milliseconds. From 1970 to 2199. Code::bad_input
// for what is no such moment: a 30th of February, a minute that the clock leaves out in spring.
Result<Time> parse_time(std::string_view text, DayMeans day = DayMeans::start);

}  // namespace stationer::fs
