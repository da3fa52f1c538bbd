#include "server/dates.h"

#include <ctime>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::server {
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

fs::Time local(std::chrono::year_month_day day, int hour, int minute) {
  std::tm parts{};
  parts.tm_year = int{day.year()} - 1900;
  parts.tm_mon = static_cast<int>(unsigned{day.month()}) - 1;
  parts.tm_mday = static_cast<int>(unsigned{day.day()});
  parts.tm_hour = hour;
  parts.tm_min = minute;
  parts.tm_isdst = -1;
  return fs::Time(std::chrono::seconds(std::mktime(&parts)));
}

}  // namespace

std::optional<fs::Time> parse_date(std::string_view text, bool end) {
  int year = 0, month = 0, day = 0, hour = 0, minute = 0, second = 0, milliseconds = 0;
  if (!take(text, 4, "-", year) || !take(text, 2, "-", month) || !take(text, 2, "", day)) {
    return std::nullopt;
  }
  const std::chrono::year_month_day date{std::chrono::year(year),
                                         std::chrono::month(static_cast<unsigned>(month)),
                                         std::chrono::day(static_cast<unsigned>(day))};
  if (!date.ok() || year < first_year || year > last_year) return std::nullopt;
  if (text.empty()) {
    const auto shown =
        end ? std::chrono::sys_days(date) + std::chrono::days(1) : std::chrono::sys_days(date);
    return local(shown, 0, 0);
  }
  const bool utc = text.front() == 'T';
  if (!utc && text.front() != ' ') return std::nullopt;
  text.remove_prefix(1);
  if (!take(text, 2, ":", hour) || !take(text, 2, "", minute)) return std::nullopt;
  if (utc) {
    if (!text.starts_with(':')) return std::nullopt;
    text.remove_prefix(1);
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
  return fs::Time(std::chrono::sys_days(date).time_since_epoch() + std::chrono::hours(hour) +
                  std::chrono::minutes(minute) + std::chrono::seconds(second) +
                  std::chrono::milliseconds(milliseconds));
}

std::string date_complaint(std::string_view text) {
  return fmt::format(
      "\"{}\" is no date. Write it like 2026-11-25, or with the time like \"2026-11-25 19:30\".",
      fs::clip(text, 40));
}

}  // namespace stationer::server
