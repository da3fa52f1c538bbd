#include "server/protocol/time_of_day.h"

#include <algorithm>
#include <array>

#include <fmt/chrono.h>
#include <fmt/format.h>

namespace stationer::server {
namespace {

constexpr std::int64_t from_1900_to_1970 = 2'208'988'800;  // seconds: RFC 868

}  // namespace

std::string time_octets(fs::Time time) {
  const auto unix_time = std::chrono::floor<std::chrono::seconds>(time.time_since_epoch()).count();
  const auto seconds = static_cast<std::uint32_t>(
      std::max<std::int64_t>(0, std::int64_t{unix_time} + from_1900_to_1970));
  std::string out;
  for (const int shift : {24, 16, 8, 0}) out += static_cast<char>(seconds >> shift & 0xFFu);
  return out;
}

std::string daytime_line(fs::Time time, std::chrono::seconds zone) {
  constexpr std::array days = {"Sunday",   "Monday", "Tuesday", "Wednesday",
                               "Thursday", "Friday", "Saturday"};
  constexpr std::array months = {"January",   "February", "March",    "April",
                                 "May",       "June",     "July",     "August",
                                 "September", "October",  "November", "December"};
  const auto local = std::chrono::floor<std::chrono::seconds>(time) + zone;
  const auto day = std::chrono::floor<std::chrono::days>(local);
  const std::chrono::year_month_day date(day);
  const std::chrono::hh_mm_ss clock(local - day);
  const auto ahead = std::chrono::abs(std::chrono::duration_cast<std::chrono::minutes>(zone));
  std::string shift;
  if (ahead.count() != 0) {
    shift = fmt::format("{}{:02}:{:02}", zone.count() < 0 ? '-' : '+', ahead.count() / 60,
                        ahead.count() % 60);
  }
  return fmt::format(
      "{}, {} {}, {} {:02}:{:02}:{:02} UTC{}\r\n", days[std::chrono::weekday(day).c_encoding()],
      months[static_cast<unsigned>(date.month()) - 1], static_cast<unsigned>(date.day()),
      static_cast<int>(date.year()), clock.hours().count(), clock.minutes().count(),
      clock.seconds().count(), shift);
}

bool may_be_asking(std::uint16_t port) {
  constexpr std::array<std::uint16_t, 6> answering = {0, 7, 13, 17, 19, 37};
  return std::find(answering.begin(), answering.end(), port) == answering.end();
}

}  // namespace stationer::server
