// What the readers of the doors' settings have in common. For config*.cpp only.
#pragma once

#include <functional>
#include <initializer_list>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "fs/settings_table.h"
#include "server/config.h"

namespace stationer::server {

// Where doors are unless the settings say otherwise.
inline constexpr std::uint16_t terminal_port = 8023;
inline constexpr std::uint16_t lpd_port = 8515;
inline constexpr std::uint16_t raw_port = 9100;
inline constexpr std::uint16_t tftp_port = 8069;
inline constexpr std::uint16_t ftp_port = 8021;
inline constexpr std::uint16_t time_port = 8037;
inline constexpr std::uint16_t daytime_port = 8013;
inline constexpr std::uint16_t http_port = 8080;

// One value of a table, put where it belongs.
template <class T, class Value>
fs::Status take(fs::Result<T> from, Value& into) {
  if (!from) return from.error();
  into = static_cast<Value>(*from);
  return {};
}

fs::Status first_failure(std::initializer_list<fs::Status> all);

// What all doors have: whether and where they are open, and to how many. `own`: the keys that this
// one has besides; there may be no others in the table, which is called `name`.
fs::Status read_door(const toml::table& table, std::string_view name, std::uint16_t port,
                     std::initializer_list<std::string_view> own, DoorConfig& door);

fs::Status read_tftp(const toml::table& table, TftpDoorConfig& door);
fs::Status read_time(const toml::table& table, DoorConfig& door);
fs::Status read_daytime(const toml::table& table, DoorConfig& door);
fs::Status read_http(const toml::table& table, HttpDoorConfig& door);

// One of some words, each with its meaning.
template <class Value>
fs::Status read_choice(const toml::table& table, std::string_view key,
                       std::initializer_list<std::pair<std::string_view, Value>> choices,
                       Value& into) {
  auto word = fs::text_setting(table, key, std::string(choices.begin()->first));
  if (!word) return word.error();
  std::string all;
  for (const auto& [name, value] : choices) {
    if (name == *word) {
      into = value;
      return {};
    }
    all += fmt::format("{}\"{}\"", all.empty() ? "" : ", ", name);
  }
  return fs::wrong_setting(*table.get(key), fmt::format("{} is one of {}.", key, all));
}

// What stations can show: their characters, how much, and how names look there.
fs::Status read_screen(const toml::table& table, Screen& screen, int& rows,
                       const fs::NameStyle*& names);

fs::Status read_ftp(const toml::table& table, FtpDoorConfig& door);

// What a door has for single machines: `read` is given the address, the table, and its name.
fs::Status each_station(const toml::table& door, std::string_view door_name,
                        const std::function<fs::Status(const std::string&, const toml::table&,
                                                       const std::string&)>& read);

}  // namespace stationer::server
