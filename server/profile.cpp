#include "server/profile.h"

#include <fmt/format.h>

#include "fs/account.h"
#include "server/config_part.h"

namespace stationer::server {
namespace {

using fs::Status;

Status read_profile(const toml::table& table, const print::Queues& queues, Profile& profile) {
  auto read = first_failure({
      fs::check_keys(table, fmt::format("profile.{}", profile.name),
                     {"line_end", "charset", "capitals", "columns", "rows", "names", "queue",
                      "block_after_last"}),
      read_choice<LineEnding>(
          table, "line_end",
          {{"cr-lf", LineEnding::cr_lf}, {"cr", LineEnding::cr}, {"lf", LineEnding::lf}},
          profile.screen.ending),
      read_screen(table, profile.screen, profile.rows, profile.names),
      take(fs::text_setting(table, "queue", ""), profile.queue),
      take(fs::number_setting(table, "block_after_last", 0, 0, 1), profile.block_after_last),
  });
  if (!read) return read;
  if (!profile.queue.empty() && queues.find(profile.queue) == nullptr) {
    return fs::wrong_setting(*table.get("queue"),
                             fmt::format("there is no [queue.{}].", profile.queue));
  }
  return {};
}

}  // namespace

fs::Result<StationPlan> read_station_plan(std::string_view settings_text,
                                          const print::Queues& queues) {
  auto file = fs::parse_settings(settings_text);
  if (!file) return file.error();
  auto profiles = fs::settings_table(*file, "profile");
  if (!profiles) return profiles.error();
  StationPlan plan;
  for (const auto& [key, node] : **profiles) {
    auto table = fs::settings_table(**profiles, key.str());
    if (!table) return table.error();
    Profile profile;
    auto name = fs::plain_name(key.str(), "a profile");
    if (!name) return fs::wrong_setting(node, name.error().message);
    profile.name = *name;
    if (auto read = read_profile(**table, queues, profile); !read) return read.error();
    plan.profiles.insert_or_assign(profile.name, profile);
  }
  auto stations = fs::settings_table(*file, "stations");
  if (!stations) return stations.error();
  auto read = first_failure({
      fs::check_keys(**stations, "stations", {"unknown"}),
      take(fs::switch_setting(**stations, "unknown", true), plan.unknown),
  });
  if (!read) return read.error();
  return plan;
}

}  // namespace stationer::server
