#include "server/net/addresses.h"

namespace stationer::server {
namespace {

bool is_private(const boost::asio::ip::address_v4& address) {
  const auto bits = address.to_uint();
  const auto within = [&](std::uint32_t network, unsigned length) {
    return bits >> (32 - length) == network >> (32 - length);
  };
  return within(0x7F000000, 8) || within(0x0A000000, 8) || within(0xAC100000, 12) ||
         within(0xC0A80000, 16) || within(0xA9FE0000, 16);
}

}  // namespace

bool is_private(const boost::asio::ip::address& address) {
  if (address.is_v4()) return is_private(address.to_v4());
  const auto v6 = address.to_v6();
  if (v6.is_v4_mapped()) {
    return is_private(boost::asio::ip::make_address_v4(boost::asio::ip::v4_mapped, v6));
  }
  return v6.is_loopback() || v6.is_link_local() || (v6.to_bytes()[0] & 0xFEu) == 0xFC;
}

}  // namespace stationer::server
