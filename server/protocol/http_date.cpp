#include "server/protocol/http_date.h"

#include <algorithm>
#include <array>
#include <vector>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::server {
namespace {

using namespace std::chrono;

constexpr std::array<std::string_view, 12> months = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                     "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
constexpr std::array<std::string_view, 7> days = {"Sun", "Mon", "Tue", "Wed", "Thu", "Fri", "Sat"};

std::vector<std::string_view> words_of(std::string_view text, std::string_view between) {
  std::vector<std::string_view> out;
  while (!text.empty()) {
    const auto end = std::min(text.find_first_of(between), text.size());
    if (end > 0) out.push_back(text.substr(0, end));
    text.remove_prefix(std::min(end + 1, text.size()));
  }
  return out;
}

struct Fields {
  std::string_view day, month, year, clock;
};

std::optional<Fields> fields_of(std::string_view text) {
  const auto words = words_of(text, " ");
  if (words.size() == 6 && words[5] == "GMT") return Fields{words[1], words[2], words[3], words[4]};
  if (words.size() == 5) return Fields{words[2], words[1], words[4], words[3]};
  if (words.size() != 4 || words[3] != "GMT") return std::nullopt;
  const auto date = words_of(words[1], "-");
  if (date.size() != 3 || date[2].size() != 2) return std::nullopt;
  return Fields{date[0], date[1], date[2], words[2]};
}

std::optional<unsigned> number(std::string_view digits, std::size_t longest, unsigned most) {
  const auto value = digits.size() <= longest ? fs::whole_number(digits) : std::nullopt;
  return value && *value <= most ? std::optional<unsigned>(*value) : std::nullopt;
}

}  // namespace

std::string http_date(fs::Time time) {
  const auto seconds = floor<std::chrono::seconds>(time);
  const auto date = floor<std::chrono::days>(seconds);
  const year_month_day parts(date);
  const hh_mm_ss clock(seconds - date);
  return fmt::format("{}, {:02} {} {:04} {:02}:{:02}:{:02} GMT", days[weekday(date).c_encoding()],
                     static_cast<unsigned>(parts.day()),
                     months[static_cast<unsigned>(parts.month()) - 1],
                     static_cast<int>(parts.year()), clock.hours().count(), clock.minutes().count(),
                     clock.seconds().count());
}

std::optional<fs::Time> read_http_date(std::string_view text, fs::Time now) {
  const auto fields = fields_of(text);
  if (!fields) return std::nullopt;
  const auto day_of_month = number(fields->day, 2, 31);
  const auto month_at = std::find(months.begin(), months.end(), fields->month);
  const auto year_number = number(fields->year, 4, 9999);
  const auto clock = words_of(fields->clock, ":");
  if (!day_of_month || month_at == months.end() || !year_number || clock.size() != 3 ||
      fields->clock.size() != 8) {
    return std::nullopt;
  }
  const auto hour = number(clock[0], 2, 23);
  const auto minute = number(clock[1], 2, 59);
  const auto second = number(clock[2], 2, 60);  // a leap second
  if (!hour || !minute || !second) return std::nullopt;
  int full_year = static_cast<int>(*year_number);
  if (fields->year.size() == 2) {
    const int this_year = static_cast<int>(year_month_day(floor<std::chrono::days>(now)).year());
    full_year += this_year / 100 * 100;
    if (full_year > this_year + 50) full_year -= 100;
  }
  const year_month_day date(year(full_year),
                            month(static_cast<unsigned>(month_at - months.begin()) + 1),
                            day(*day_of_month));
  if (!date.ok()) return std::nullopt;
  return fs::Time(sys_days(date)) + hours(*hour) + minutes(*minute) + std::chrono::seconds(*second);
}

}  // namespace stationer::server
