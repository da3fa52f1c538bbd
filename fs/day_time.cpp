#include "fs/day_time.h"

namespace stationer::fs {

std::optional<std::chrono::minutes> time_of_day(std::string_view text) {
  if (text.size() != 5 || text[2] != ':') return std::nullopt;
  int digits[4];
  for (int i = 0; const std::size_t at : {0u, 1u, 3u, 4u}) {
    if (text[at] < '0' || text[at] > '9') return std::nullopt;
    digits[i++] = text[at] - '0';
  }
  const int hour = 10 * digits[0] + digits[1];
  const int minute = 10 * digits[2] + digits[3];
  if (hour > 23 || minute > 59) return std::nullopt;
  return std::chrono::minutes(60 * hour + minute);
}

Time last_at(std::chrono::minutes time_of_day, Time now, std::chrono::seconds zone) {
  const Time shown = now + zone;
  Time moment = std::chrono::floor<std::chrono::days>(shown) + time_of_day;
  if (moment > shown) moment -= std::chrono::days(1);
  return moment - zone;
}

}  // namespace stationer::fs
