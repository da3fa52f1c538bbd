#include "server/config_part.h"

#include <boost/asio/ip/address.hpp>

#include "print/charset.h"
#include "server/net/addresses.h"

namespace stationer::server {

using fs::Status;

namespace {

constexpr std::int64_t most_connections = 40'000;

Status check_address(const toml::table& table, const DoorConfig& door) {
  const toml::node& node = table.contains("address") ? *table.get("address") : table;
  if (door.address == "loopback" || door.address == "private") return {};
  boost::system::error_code failed;
  const auto address = boost::asio::ip::make_address(door.address, failed);
  if (failed) {
    return fs::wrong_setting(
        node, fmt::format("address is \"loopback\", \"private\" or an address of this "
                          "machine such as 192.168.1.5, not \"{}\".",
                          door.address));
  }
  if (!is_private(address) && !door.is_public) {
    return fs::wrong_setting(node,
                             fmt::format("{} can be reached from the whole Internet, which old "
                                         "protocols are not made for. If that is what you want, "
                                         "write public = true below it.",
                                         door.address));
  }
  return {};
}

}  // namespace

Status first_failure(std::initializer_list<Status> all) {
  for (const auto& each : all) {
    if (!each) return each;
  }
  return {};
}

Status read_door(const toml::table& table, std::string_view name, std::uint16_t port,
                 std::initializer_list<std::string_view> own, DoorConfig& door) {
  std::vector<std::string_view> known = {"open",   "address", "port",
                                         "public", "most",    "most_per_address"};
  known.insert(known.end(), own);
  auto read = first_failure({
      fs::check_keys(table, name, known),
      take(fs::switch_setting(table, "open", true), door.open),
      take(fs::text_setting(table, "address", door.address), door.address),
      take(fs::number_setting(table, "port", port, 0, 65535), door.port),
      take(fs::switch_setting(table, "public", false), door.is_public),
      take(fs::number_setting(table, "most", static_cast<std::int64_t>(door.most), 1,
                              most_connections),
           door.most),
      take(
          fs::number_setting(table, "most_per_address",
                             static_cast<std::int64_t>(door.most_per_address), 1, most_connections),
          door.most_per_address),
  });
  return read ? check_address(table, door) : read;
}

Status read_screen(const toml::table& table, Screen& screen, int& rows,
                   const fs::NameStyle*& names) {
  std::string charset;
  std::string style;
  auto read = first_failure({
      take(fs::text_setting(table, "charset", "ascii"), charset),
      take(fs::text_setting(table, "names", names->name), style),
      take(fs::switch_setting(table, "capitals", false), screen.capitals),
      take(fs::number_setting(table, "columns", 80, 20, 255), screen.columns),
      take(fs::number_setting(table, "rows", 24, 0, 255), rows),
  });
  if (!read) return read;
  auto found = print::find_charset(charset);
  if (!found) return fs::wrong_setting(*table.get("charset"), found.error().message);
  screen.charset = *found;
  auto known = fs::find_name_style(style);
  if (!known) return fs::wrong_setting(*table.get("names"), known.error().message);
  names = *known;
  return {};
}

Status each_station(
    const toml::table& door, std::string_view door_name,
    const std::function<Status(const std::string&, const toml::table&, const std::string&)>& read) {
  auto stations = fs::settings_table(door, "station");
  if (!stations) return stations.error();
  for (const auto& [name, node] : **stations) {
    auto station = fs::settings_table(**stations, name.str());
    if (!station) return station.error();
    boost::system::error_code failed;
    const auto address = boost::asio::ip::make_address(std::string(name.str()), failed);
    if (failed) {
      return fs::wrong_setting(
          node,
          fmt::format("a station goes by its address, such as 10.0.0.7, not \"{}\".", name.str()));
    }
    auto own =
        read(address.to_string(), **station, fmt::format("{}.station.{}", door_name, name.str()));
    if (!own) return own;
  }
  return {};
}

}  // namespace stationer::server
