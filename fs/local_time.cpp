#include "fs/local_time.h"

#include <ctime>
#include <optional>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::fs {
namespace {

// The host's clock counts nanoseconds in 64 bits, which end in 2262.
constexpr int first_year = 1970;
constexpr int last_year = 2199;

// Takes `digits` digits from the front, and `behind` after them.
bool take(std::string_view& text, std::size_t digits, std::string_view behind, int& value) {
  if (text.size() < digits + behind.size()) return false;
  value = 0;
  for (std::size_t i = 0; i < digits; ++i) {
    if (text[i] < '0' || text[i] > '9') return false;
    value = value * 10 + (text[i] - '0');
  }
  if (text.substr(digits, behind.size()) != behind) return false;
  text.remove_prefix(digits + behind.size());
  return true;
}

std::tm local_parts(Time time) {
  return fmt::localtime(std::chrono::system_clock::to_time_t(time));
}

Time moment(std::tm parts) {
  parts.tm_isdst = -1;
  return Time(std::chrono::seconds(std::mktime(&parts)));
}

// Nothing for a minute that the clock leaves out.
std::optional<Time> local(std::chrono::year_month_day day, int hour, int minute) {
  std::tm parts{};
  parts.tm_year = int{day.year()} - 1900;
  parts.tm_mon = static_cast<int>(unsigned{day.month()}) - 1;
  parts.tm_mday = static_cast<int>(unsigned{day.day()});
  parts.tm_hour = hour;
  parts.tm_min = minute;
  parts.tm_isdst = -1;
  // mktime() turns what is left out into another moment, and `parts` with it.
  const Time time(std::chrono::seconds(std::mktime(&parts)));
  if (parts.tm_hour != hour || parts.tm_min != minute) return std::nullopt;
  return time;
}

// Some clocks go forward at midnight: the day then begins at one.
std::optional<Time> start_of(std::chrono::sys_days day) {
  const auto midnight = local(day, 0, 0);
  return midnight ? midnight : local(day, 1, 0);
}

std::optional<Time> parse(std::string_view text, DayMeans means) {
  int year = 0, month = 0, day = 0, hour = 0, minute = 0, second = 0, milliseconds = 0;
  if (!take(text, 4, "-", year) || !take(text, 2, "-", month) || !take(text, 2, "", day)) {
    return std::nullopt;
  }
  const std::chrono::year_month_day date{std::chrono::year(year),
                                         std::chrono::month(static_cast<unsigned>(month)),
                                         std::chrono::day(static_cast<unsigned>(day))};
  if (!date.ok() || year < first_year || year > last_year) return std::nullopt;
  const std::chrono::sys_days days(date);
  if (text.empty()) {
    return start_of(means == DayMeans::end ? days + std::chrono::days(1) : days);
  }
  const bool utc = text.front() == 'T';
  if (!utc && text.front() != ' ') return std::nullopt;
  text.remove_prefix(1);
  if (!take(text, 2, ":", hour) || !take(text, 2, utc ? ":" : "", minute)) return std::nullopt;
  if (utc) {
    if (!take(text, 2, "", second)) return std::nullopt;
    if (text.starts_with('.')) {
      text.remove_prefix(1);
      if (!take(text, 3, "", milliseconds)) return std::nullopt;
    }
    if (text != "Z") return std::nullopt;
  } else if (!text.empty()) {
    return std::nullopt;
  }
  if (hour > 23 || minute > 59 || second > 59) return std::nullopt;
  if (!utc) return local(date, hour, minute);
  return Time(days.time_since_epoch() + std::chrono::hours(hour) + std::chrono::minutes(minute) +
              std::chrono::seconds(second) + std::chrono::milliseconds(milliseconds));
}

}  // namespace

std::string local_day_text(Time time) {
  return fmt::format("{:%A, %Y-%m-%d}", local_parts(time));
}

Time local_day(Time time, int days_later) {
  std::tm parts = local_parts(time);
  parts.tm_hour = parts.tm_min = parts.tm_sec = 0;
  parts.tm_mday += days_later;
  return moment(parts);
}

Time local_week(Time time, int weeks_later) {
  constexpr int days = 7;
  const int since_monday = (local_parts(time).tm_wday + days - 1) % days;
  return local_day(time, weeks_later * days - since_monday);
}

// tm_gmtoff, as POSIX.1-2024 has it.
std::chrono::seconds zone_at(Time time) {
  const std::time_t seconds = std::chrono::system_clock::to_time_t(time);
  std::tm local{};
  if (::localtime_r(&seconds, &local) == nullptr) return {};
  return std::chrono::seconds(local.tm_gmtoff);
}

std::string local_time_text(Time time) {
  return fmt::format("{:%Y-%m-%d %H:%M}", local_parts(time));
}

Result<Time> parse_time(std::string_view text, DayMeans day) {
  if (const auto time = parse(text, day)) return *time;
  return Error{
      Code::bad_input,
      fmt::format("\"{}\" is no date. Write a day as in 2026-12-01, or a day and a time as "
                  "in 2026-12-01 15:30.",
                  clip(text, 40))};
}

}  // namespace stationer::fs
