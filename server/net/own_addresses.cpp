#include "server/net/own_addresses.h"

#include <algorithm>
#include <memory>

#include <boost/asio/ip/address_v4.hpp>
#include <ifaddrs.h>
#include <net/if.h>
#include <netinet/in.h>

#include "server/net/addresses.h"

namespace stationer::server {

std::vector<std::string> own_addresses() {
  std::vector<std::string> out;
  ifaddrs* first = nullptr;
  if (::getifaddrs(&first) != 0) return out;
  const std::unique_ptr<ifaddrs, void (*)(ifaddrs*)> all(first, ::freeifaddrs);
  for (const ifaddrs* each = first; each != nullptr; each = each->ifa_next) {
    if (each->ifa_addr == nullptr || each->ifa_addr->sa_family != AF_INET) continue;
    if ((each->ifa_flags & IFF_UP) == 0) continue;
    // The kernel gives a sockaddr_in for this family; it is copied, as the types have no alignment
    // in common.
    sockaddr_in found{};
    std::copy_n(reinterpret_cast<const unsigned char*>(each->ifa_addr), sizeof found,
                reinterpret_cast<unsigned char*>(&found));
    const boost::asio::ip::address_v4 address(ntohl(found.sin_addr.s_addr));
    const bool link_local = address.to_uint() >> 16 == 0xA9FE;  // RFC 3927 §2.1
    if (address.is_loopback() || link_local || !is_private(address)) continue;
    out.push_back(address.to_string());
  }
  return out;
}

}  // namespace stationer::server
