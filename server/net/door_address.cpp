#include "server/net/door_address.h"

#include <boost/asio/error.hpp>
#include <fmt/format.h>

#include "server/net/addresses.h"

namespace stationer::server {

namespace asio = boost::asio;
using boost::system::error_code;

fs::Result<asio::ip::address> door_address(const std::string& name, const DoorConfig& config) {
  if (config.address == "loopback") return asio::ip::address(asio::ip::address_v4::loopback());
  if (config.address == "private") return asio::ip::address(asio::ip::address_v4::any());
  error_code failed;
  const auto address = asio::ip::make_address(config.address, failed);
  if (failed) return cannot_open(name, config, failed);
  return address;
}

bool turns_away(const DoorConfig& config, const asio::ip::address& own) {
  return config.address == "private" && !is_private(own);
}

fs::Error cannot_open(const std::string& name, const DoorConfig& config, const error_code& failed) {
  std::string advice;
  fs::Code code = fs::Code::io;
  if (failed == asio::error::address_in_use) {
    code = fs::Code::busy;
    advice = " Another program has that port; choose another in volume.toml.";
  } else if (failed == asio::error::access_denied) {
    code = fs::Code::denied;
    advice = " Ports below 1024 need the right to use them; choose a higher one in volume.toml.";
  } else if (failed == asio::error::address_family_not_supported ||
             failed == error_code(EADDRNOTAVAIL, boost::system::system_category())) {
    code = fs::Code::bad_input;
    advice = " This machine does not have that address.";
  }
  return {code, fmt::format("The {} door can't open on {} port {}: {}.{}", name, config.address,
                            config.port, failed.message(), advice)};
}

}  // namespace stationer::server
