#include "fs/snapshot_plan.h"

#include <algorithm>
#include <charconv>
#include <set>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/day_time.h"
#include "fs/settings_table.h"
#include "fs/settings_words.h"

namespace stationer::fs {
namespace {

using std::chrono::days;
using std::chrono::floor;
using std::chrono::seconds;

constexpr std::string_view suffix = ".tar.zst";
constexpr std::size_t stamp_size = 17;  // 2026-11-25-193005
constexpr std::int64_t most_kept = 1000;

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

std::optional<int> digits(std::string_view text) {
  int value = 0;
  if (text.empty() || !std::all_of(text.begin(), text.end(), is_digit)) return std::nullopt;
  std::from_chars(text.data(), text.data() + text.size(), value);
  return value;
}

// The volume's name in letters that every host and tool takes.
std::string plain_name(std::string_view volume) {
  std::string out;
  for (const char c : volume) {
    if ((c >= 'a' && c <= 'z') || is_digit(c)) {
      out += c;
    } else if (c >= 'A' && c <= 'Z') {
      out += static_cast<char>(c - 'A' + 'a');
    } else if (!out.empty() && out.back() != '-') {
      out += '-';
    }
  }
  while (!out.empty() && out.back() == '-') out.pop_back();
  return out.empty() ? "volume" : out;
}

}  // namespace

Result<SnapshotPlan> read_snapshot_plan(std::string_view settings_text) {
  auto file = parse_settings(settings_text);
  if (!file) return file.error();
  auto found = settings_table(*file, "snapshots");
  if (!found) return found.error();
  const toml::table& table = **found;
  auto keys = check_keys(table, "snapshots", {"folder", "daily_at", "days", "weeks", "months"});
  if (!keys) return keys.error();
  SnapshotPlan plan;
  auto folder = text_setting(table, "folder", "");
  if (!folder) return folder.error();
  if (!folder->empty() && folder->front() != '/') {
    return wrong_setting(*table.get("folder"),
                         "folder must be a whole path, from / on, or \"\" for the volume's own.");
  }
  plan.folder = *folder;
  auto at = text_setting(table, "daily_at", "03:00");
  if (!at) return at.error();
  plan.daily_at = time_of_day(*at);
  if (!at->empty() && !plan.daily_at) {
    return wrong_setting(*table.get("daily_at"),
                         "daily_at must be a time such as \"03:00\", or \"\" for never.");
  }
  for (const auto& [key, value] : {std::pair("days", &plan.days), std::pair("weeks", &plan.weeks),
                                   std::pair("months", &plan.months)}) {
    auto number = number_setting(table, key, *value, 0, most_kept);
    if (!number) return number.error();
    *value = static_cast<unsigned>(*number);
  }
  return plan;
}

std::string new_snapshot_settings() {
  return '\n' +
         write_settings(
             table_words(settings_words(), "snapshots"),
             {{"folder", ""}, {"daily_at", ""}, {"days", ""}, {"weeks", ""}, {"months", ""}});
}

bool snapshot_is_due(const SnapshotPlan& plan, Time last, Time now, seconds zone) {
  if (!plan.daily_at) return false;
  return last < last_at(*plan.daily_at, now, zone);
}

std::vector<Time> superfluous_snapshots(const SnapshotPlan& plan, std::vector<Time> taken,
                                        seconds zone) {
  std::sort(taken.begin(), taken.end(), std::greater<>());
  std::set<long> kept_days;
  std::set<long> kept_weeks;
  std::set<long> kept_months;
  // The newest of a span is met first; it stands for the span while there is room for another.
  const auto stands_for = [](std::set<long>& spans, long span, unsigned most) {
    return spans.size() < most && spans.insert(span).second;
  };
  std::vector<Time> out;
  for (const Time each : taken) {
    const auto day = floor<days>(each + zone);
    const std::chrono::year_month_day date(day);
    const long number = day.time_since_epoch().count();
    // Weeks begin on Mondays (ISO 8601); 1 January 1970 was a Thursday.
    const long week = (number + 3) / 7;
    const long month = 12L * static_cast<int>(date.year()) +
                       static_cast<long>(static_cast<unsigned>(date.month()));
    const bool by_day = stands_for(kept_days, number, plan.days);
    const bool by_week = stands_for(kept_weeks, week, plan.weeks);
    const bool by_month = stands_for(kept_months, month, plan.months);
    const bool newest = each == taken.front();
    if (!newest && !by_day && !by_week && !by_month) out.push_back(each);
  }
  return out;
}

std::string snapshot_name(std::string_view volume, Time taken) {
  const auto when = fmt::gmtime(std::chrono::system_clock::to_time_t(taken));
  return fmt::format("{}-{:%Y-%m-%d-%H%M%S}{}", plain_name(volume), when, suffix);
}

std::optional<Time> snapshot_time(std::string_view volume, std::string_view file_name) {
  const std::string start = plain_name(volume) + "-";
  if (!file_name.starts_with(start) || !file_name.ends_with(suffix)) return std::nullopt;
  if (file_name.size() != start.size() + stamp_size + suffix.size()) return std::nullopt;
  const std::string_view stamp = file_name.substr(start.size(), stamp_size);
  const auto year = digits(stamp.substr(0, 4));
  const auto month = digits(stamp.substr(5, 2));
  const auto day = digits(stamp.substr(8, 2));
  const auto hour = digits(stamp.substr(11, 2));
  const auto minute = digits(stamp.substr(13, 2));
  const auto second = digits(stamp.substr(15, 2));
  if (!year || !month || !day || !hour || !minute || !second) return std::nullopt;
  const std::chrono::year_month_day date{std::chrono::year(*year),
                                         std::chrono::month(static_cast<unsigned>(*month)),
                                         std::chrono::day(static_cast<unsigned>(*day))};
  if (!date.ok()) return std::nullopt;
  const Time time = std::chrono::sys_days(date) + std::chrono::hours(*hour) +
                    std::chrono::minutes(*minute) + seconds(*second);
  // Only the one way of writing it.
  if (snapshot_name(volume, time) != file_name) return std::nullopt;
  return time;
}

}  // namespace stationer::fs
