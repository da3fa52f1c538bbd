#include "fs/station.h"

#include <array>
#include <set>

#include <arpa/inet.h>
#include <fmt/format.h>

#include "fs/account.h"
#include "fs/text.h"

namespace stationer::fs {

std::string station_number(std::uint32_t segment, std::uint32_t number) {
  return fmt::format("{}.{}", segment, number);
}

std::optional<std::pair<std::uint32_t, std::uint32_t>> read_station_number(std::string_view text) {
  const auto dot = text.find('.');
  if (dot == std::string_view::npos) return std::nullopt;
  const auto segment = whole_number(text.substr(0, dot));
  const auto number = whole_number(text.substr(dot + 1));
  if (!segment || !number) return std::nullopt;
  return std::pair(*segment, *number);
}

Result<std::string> station_name(std::string_view typed) {
  auto name = plain_name(typed, "a station");
  if (name && name->find_first_not_of("0123456789.") == std::string::npos) {
    return Error{Code::bad_name,
                 "The name of a station has a letter in it, so that it can be told "
                 "from numbers and addresses."};
  }
  return name;
}

Result<std::string> network_address(std::string_view typed) {
  const std::string text(typed);
  std::array<unsigned char, sizeof(in6_addr)> bytes{};
  std::array<char, INET6_ADDRSTRLEN> out{};
  const bool whole = text.find('\0') == std::string::npos;  // as far as inet_pton looks
  if (whole && inet_pton(AF_INET, text.c_str(), bytes.data()) == 1) {
    return std::string(inet_ntop(AF_INET, bytes.data(), out.data(), out.size()));
  }
  if (whole && inet_pton(AF_INET6, text.c_str(), bytes.data()) == 1) {
    constexpr std::string_view as_ipv4("\0\0\0\0\0\0\0\0\0\0\xFF\xFF", 12);
    const std::string_view start(reinterpret_cast<const char*>(bytes.data()), as_ipv4.size());
    if (start == as_ipv4) {
      return std::string(inet_ntop(AF_INET, bytes.data() + as_ipv4.size(), out.data(), out.size()));
    }
    return std::string(inet_ntop(AF_INET6, bytes.data(), out.data(), out.size()));
  }
  return Error{Code::bad_input,
               fmt::format("\"{}\" is no network address such as 10.0.0.7.", clip(typed, 60))};
}

Result<std::string> hardware_address(std::string_view typed) {
  std::string digits;
  for (const char c : ascii_lower(typed)) {
    if (std::string_view(":-.").find(c) == std::string_view::npos) digits += c;
  }
  constexpr std::size_t octets = 6;
  if (digits.size() != 2 * octets ||
      digits.find_first_not_of("0123456789abcdef") != std::string::npos) {
    return Error{
        Code::bad_input,
        fmt::format("\"{}\" is no hardware address such as 02:00:5e:00:00:01.", clip(typed, 60))};
  }
  // The first octet's lowest bit tells a group from a single machine.
  const bool of_group = std::string_view("13579bdf").find(digits[1]) != std::string_view::npos;
  if (of_group || digits.find_first_not_of('0') == std::string::npos) {
    return Error{Code::bad_input,
                 fmt::format("{} is the hardware address of no single machine.", clip(typed, 60))};
  }
  std::string out;
  for (std::size_t at = 0; at < digits.size(); at += 2) {
    if (at > 0) out += ':';
    out += digits.substr(at, 2);
  }
  return out;
}

Result<std::string> station_doors(const std::vector<std::string>& typed) {
  std::set<std::string> doors;
  for (const auto& each : typed) {
    auto door = plain_name(each, "a door");
    if (!door) return door;
    doors.insert(std::move(*door));
  }
  std::string out;
  for (const auto& door : doors) out += door + ' ';
  return out;
}

}  // namespace stationer::fs
