// Which addresses the whole Internet can reach, and which it can't.
#pragma once

#include <boost/asio/ip/address.hpp>

namespace stationer::server {

// Loopback, private and link-local addresses: RFC 1122 §3.2.1.3 (127/8), RFC 1918 §3, RFC 3927
// §2.1, RFC 4193 §3.1 (fc00::/7), RFC 4291 §2.5.3 and §2.5.6 (::1, fe80::/10), and IPv4 addresses
// of these kinds written as IPv6 ones.
bool is_private(const boost::asio::ip::address& address);

}  // namespace stationer::server
