#include "server/net/addresses.h"

#include <string>

#include <catch2/catch.hpp>

using stationer::server::is_private;

// RFC 1918 §3, RFC 1122 §3.2.1.3, RFC 3927 §2.1, RFC 4193 §3.1, RFC 4291 §2.5: first and last
// address of each range, and their neighbours.
TEST_CASE("private addresses are told from public ones") {
  const auto check = [](const char* text) {
    return is_private(boost::asio::ip::make_address(text));
  };
  for (const char* each :
       {"127.0.0.1", "127.255.255.255", "10.0.0.0", "10.255.255.255", "172.16.0.0",
        "172.31.255.255", "192.168.0.0", "192.168.255.255", "169.254.0.1", "::1", "fe80::1",
        "fc00::1", "fdff::1", "::ffff:10.0.0.1"}) {
    INFO(each);
    CHECK(check(each));
  }
  for (const char* each :
       {"126.255.255.255", "128.0.0.0", "9.255.255.255", "11.0.0.0", "172.15.255.255", "172.32.0.0",
        "192.167.255.255", "192.169.0.0", "169.253.255.255", "8.8.8.8", "2001:db8::1", "fe00::1",
        "::ffff:8.8.8.8", "::"}) {
    INFO(each);
    CHECK_FALSE(check(each));
  }
}
