// The settings of doors that hand out what everybody may have: HTTP, and the time.
#include "server/config_part.h"

namespace stationer::server {
namespace {

using fs::Status;

constexpr std::int64_t longest_idle = 86'400;  // seconds

}  // namespace

Status read_time(const toml::table& table, DoorConfig& door) {
  return read_door(table, "door.time", time_port, {}, door);
}

Status read_daytime(const toml::table& table, DoorConfig& door) {
  return read_door(table, "door.daytime", daytime_port, {}, door);
}

Status read_http(const toml::table& table, HttpDoorConfig& door) {
  return first_failure({
      read_door(table, "door.http", http_port, {"idle_seconds"}, door),
      take(fs::number_setting(table, "idle_seconds", door.idle.count(), 1, longest_idle),
           door.idle),
  });
}

}  // namespace stationer::server
