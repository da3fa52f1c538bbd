#include "server/config.h"

#include <algorithm>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "fs/settings_table.h"
#include "fs/text.h"
#include "fs/visitors.h"
#include "server/config_part.h"
#include "server/settings_words.h"

namespace stationer::server {
namespace {

using fs::Status;

constexpr std::int64_t longest_idle = 86'400;  // seconds

// What stations at a terminal's line are like.
Status read_setup(const toml::table& table, TerminalConfig& door) {
  return first_failure({
      read_screen(table, door.setup.screen, door.setup.rows, door.setup.names),
      take(fs::switch_setting(table, "guests", true), door.guests),
      take(fs::text_setting(table, "sign_on", ""), door.sign_on),
      take(fs::number_setting(table, "idle_minutes", door.idle.count(), 0, longest_idle / 60),
           door.idle),
  });
}

// Whoever is signed on without a password has to be meant for that.
Status check_sign_on(const TerminalConfig& door, const fs::VisitorPlan& visitors) {
  const auto check = [&](const std::string& name) -> Status {
    if (name.empty() || visitors.has(fs::ascii_lower(name))) return {};
    return fs::Error{
        fs::Code::bad_input,
        fmt::format("volume.toml: sign_on = \"{0}\" lets everybody in as {0} without a "
                    "password. If that is meant, write accounts = [\"{0}\"] under "
                    "[visitors].",
                    name)};
  };
  auto fine = check(door.sign_on);
  for (const auto& [address, name] : door.sign_on_at) {
    if (fine) fine = check(name);
  }
  return fine;
}

constexpr std::int64_t longest_pause = 10'000;  // milliseconds

Status read_line(const toml::table& table, SerialLineConfig& line) {
  using Parity = SerialSettings::Parity;
  using Flow = SerialSettings::Flow;
  SerialSettings& port = line.port;
  line.door = "serial";
  line.telnet = Dialect::Door::never;
  auto read = first_failure({
      fs::check_keys(table, fmt::format("serial.{}", line.name),
                     {"device", "speed", "bits", "parity", "stop_bits", "flow", "carrier",
                      "character_ms", "line_ms", "guests", "sign_on", "charset", "capitals",
                      "columns", "rows", "idle_minutes", "names"}),
      take(fs::text_setting(table, "device", ""), port.device),
      take(fs::number_setting(table, "speed", port.speed, SerialSettings::least_speed,
                              SerialSettings::most_speed),
           port.speed),
      take(fs::number_setting(table, "bits", port.bits, 7, 8), port.bits),
      read_choice<Parity>(table, "parity",
                          {{"none", Parity::none}, {"even", Parity::even}, {"odd", Parity::odd}},
                          port.parity),
      take(fs::number_setting(table, "stop_bits", port.stop_bits, 1, 2), port.stop_bits),
      read_choice<Flow>(
          table, "flow",
          {{"none", Flow::none}, {"rts-cts", Flow::rts_cts}, {"xon-xoff", Flow::xon_xoff}},
          port.flow),
      take(fs::switch_setting(table, "carrier", false), port.carrier),
      take(fs::number_setting(table, "character_ms", 0, 0, longest_pause), line.pacing.character),
      take(fs::number_setting(table, "line_ms", 0, 0, longest_pause), line.pacing.line),
      read_setup(table, line),
  });
  if (!read) return read;
  if (!port.device.starts_with('/')) {
    return fs::wrong_setting(table,
                             fmt::format("[serial.{}] needs the name of its port, as in device = "
                                         "\"/dev/ttyUSB0\".",
                                         line.name));
  }
  line.setup.seven_bits = port.bits == 7;
  return {};
}

Status read_lines(const toml::table& table, std::vector<SerialLineConfig>& lines) {
  for (const auto& [name, node] : table) {
    auto settings = fs::settings_table(table, name.str());
    if (!settings) return settings.error();
    SerialLineConfig line;
    line.name = name.str();
    if (auto read = read_line(**settings, line); !read) return read;
    for (const auto& other : lines) {
      if (other.port.device != line.port.device) continue;
      return fs::wrong_setting(node, fmt::format("[serial.{}] and [serial.{}] have the same port.",
                                                 other.name, line.name));
    }
    lines.push_back(std::move(line));
  }
  return {};
}

Status read_terminal(const toml::table& table, TerminalDoorConfig& door) {
  using Door = Dialect::Door;
  auto read = first_failure({
      read_door(table, "door.terminal", terminal_port,
                {"telnet", "guests", "sign_on", "station", "charset", "capitals", "columns", "rows",
                 "idle_minutes", "names"},
                door),
      read_choice<Door>(
          table, "telnet",
          {{"auto", Door::automatic}, {"always", Door::always}, {"never", Door::never}},
          door.telnet),
      read_setup(table, door),
  });
  if (!read) return read;
  return each_station(
      table, "door.terminal",
      [&](const std::string& address, const toml::table& station, const std::string& name) {
        return first_failure({
            fs::check_keys(station, name, {"sign_on"}),
            take(fs::text_setting(station, "sign_on", door.sign_on), door.sign_on_at[address]),
        });
      });
}

Status read_lpd(const toml::table& table, LpdDoorConfig& door) {
  return first_failure({
      read_door(table, "door.lpd", lpd_port, {"believe_names"}, door),
      take(fs::switch_setting(table, "believe_names", true), door.believe_names),
  });
}

Status read_station(const toml::table& table, const print::Queues& queues, RawStation& station) {
  station.own_queue = station.own_queue || table.contains("queue");
  auto read = first_failure({
      take(fs::text_setting(table, "queue", station.queue), station.queue),
      take(fs::number_setting(table, "idle_seconds", station.idle.count(), 1, longest_idle),
           station.idle),
  });
  if (!read) return read;
  if (queues.find(station.queue) == nullptr) {
    return fs::wrong_setting(*table.get("queue"),
                             fmt::format("there is no [queue.{}].", station.queue));
  }
  return {};
}

Status read_raw(const toml::table& table, const print::Queues& queues, RawDoorConfig& door) {
  auto read = first_failure({
      read_door(table, "door.raw", raw_port, {"queue", "idle_seconds", "station"}, door),
      read_station(table, queues, door.usual),
  });
  if (!read) return read;
  door.usual.own_queue = false;
  return each_station(
      table, "door.raw",
      [&](const std::string& address, const toml::table& station, const std::string& name) {
        RawStation own = door.usual;
        auto own_read = first_failure({
            fs::check_keys(station, name, {"queue", "idle_seconds"}),
            read_station(station, queues, own),
        });
        door.stations[address] = std::move(own);
        return own_read;
      });
}

}  // namespace

fs::Result<Config> read_config(std::string_view settings_text, const print::Queues& queues) {
  auto file = fs::parse_settings(settings_text);
  if (!file) return file.error();
  auto doors = fs::settings_table(*file, "door");
  if (!doors) return doors.error();
  auto terminal = fs::settings_table(**doors, "terminal");
  if (!terminal) return terminal.error();
  auto serial = fs::settings_table(*file, "serial");
  if (!serial) return serial.error();
  auto lpd = fs::settings_table(**doors, "lpd");
  if (!lpd) return lpd.error();
  auto raw = fs::settings_table(**doors, "raw");
  if (!raw) return raw.error();
  auto tftp = fs::settings_table(**doors, "tftp");
  if (!tftp) return tftp.error();
  auto ftp = fs::settings_table(**doors, "ftp");
  if (!ftp) return ftp.error();
  auto time = fs::settings_table(**doors, "time");
  if (!time) return time.error();
  auto daytime = fs::settings_table(**doors, "daytime");
  if (!daytime) return daytime.error();
  auto http = fs::settings_table(**doors, "http");
  if (!http) return http.error();
  Config config;
  auto read = first_failure({
      fs::check_keys(*file, "the file",
                     {"volume", "limits", "history", "journal", "adoption", "snapshots", "print",
                      "printer", "queue", "door", "serial", "visitors", "profile", "stations"}),
      fs::check_keys(**doors, "door",
                     {"terminal", "lpd", "raw", "tftp", "ftp", "time", "daytime", "http"}),
      read_terminal(**terminal, config.terminal),
      read_lines(**serial, config.lines),
      read_lpd(**lpd, config.lpd),
      read_raw(**raw, queues, config.raw),
      read_tftp(**tftp, config.tftp),
      read_ftp(**ftp, config.ftp),
      read_time(**time, config.time),
      read_daytime(**daytime, config.daytime),
      read_http(**http, config.http),
  });
  if (!read) return read.error();
  auto stations = read_station_plan(settings_text, queues);
  if (!stations) return stations.error();
  config.stations = std::move(*stations);
  const auto visitors = fs::read_visitor_plan(settings_text);
  if (!visitors) return visitors.error();
  if (auto fine = check_sign_on(config.terminal, *visitors); !fine) return fine.error();
  for (const auto& line : config.lines) {
    if (auto fine = check_sign_on(line, *visitors); !fine) return fine.error();
  }
  return config;
}

std::string new_door_settings(const NewDoors& doors) {
  const auto words = settings_words();
  std::string out = "\n# Doors. The usual ports 21, 23 and 515 need the right to use them.\n";
  std::vector<std::string> told;  // a remark is made once
  const auto door = [&](std::string_view name, const fs::ChosenSettings& more = {}) {
    fs::TableWords table = fs::table_words(words, fmt::format("door.{}", name));
    const auto& common = fs::table_words(words, "door.NAME").settings;
    table.settings.insert(table.settings.end(), common.begin(), common.end());
    fs::ChosenSettings settings;
    if (std::find(doors.closed.begin(), doors.closed.end(), name) != doors.closed.end()) {
      settings.emplace_back("open", "false");
    }
    settings.emplace_back("address", fmt::format("\"{}\"", doors.address));
    settings.emplace_back("port", "");
    settings.insert(settings.end(), more.begin(), more.end());
    for (fs::SettingWords& each : table.settings) {
      if (std::find(told.begin(), told.end(), each.key) != told.end()) each.remark.clear();
    }
    for (const auto& [key, value] : settings) told.emplace_back(key);
    out += fmt::format("{}# {}\n{}", told.size() == settings.size() ? "" : "\n", table.what,
                       fs::write_settings(table, settings));
  };
  door("terminal", {{"guests", ""}});
  door("lpd");
  door("raw");
  door("tftp", {{"folder", ""}});
  door("ftp", {{"guests", ""}});
  door("time");
  door("daytime");
  door("http");
  return out;
}

}  // namespace stationer::server
