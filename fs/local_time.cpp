#include "fs/local_time.h"

#include <charconv>
#include <ctime>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr std::string_view form = "0000-00-00 00:00";  // 0: a digit
constexpr std::size_t day_length = 10;

bool has_form(std::string_view text) {
  if (text.size() != form.size() && text.size() != day_length) return false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool digit = text[i] >= '0' && text[i] <= '9';
    if (form[i] == '0' ? !digit : text[i] != form[i]) return false;
  }
  return true;
}

int number_in(std::string_view text, std::size_t at, std::size_t digits) {
  int value = 0;
  if (at < text.size()) std::from_chars(text.data() + at, text.data() + at + digits, value);
  return value;
}

std::tm local_parts(Time time) {
  return fmt::localtime(std::chrono::system_clock::to_time_t(time));
}

Time moment(std::tm parts) {
  parts.tm_isdst = -1;
  return Time(std::chrono::seconds(std::mktime(&parts)));
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

std::string local_time_text(Time time) {
  return fmt::format("{:%Y-%m-%d %H:%M}", local_parts(time));
}

Result<Time> parse_local_time(std::string_view text) {
  if (has_form(text)) {
    std::tm parts{};
    parts.tm_year = number_in(text, 0, 4) - 1900;
    parts.tm_mon = number_in(text, 5, 2) - 1;
    parts.tm_mday = number_in(text, 8, 2);
    parts.tm_hour = number_in(text, 11, 2);
    parts.tm_min = number_in(text, 14, 2);
    const Time time = moment(parts);
    // mktime() turns what is out of range into another moment.
    if (local_time_text(time).starts_with(text)) return time;
  }
  return Error{Code::bad_input,
               fmt::format("\"{}\" is no moment. Write a day as in 2026-12-01, or a day and a time "
                           "as in 2026-12-01 15:30.",
                           clip(text, 40))};
}

}  // namespace stationer::fs
