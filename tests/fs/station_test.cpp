#include "fs/station.h"

#include <catch2/catch.hpp>

using namespace stationer::fs;

TEST_CASE("a station's number is written with its segment in front") {
  CHECK(station_number(1, 12) == "1.12");
  CHECK(read_station_number("1.12") == std::pair(1u, 12u));
  CHECK(read_station_number("0.999") == std::pair(0u, 999u));
  for (const char* text : {"", "1", ".", "1.", ".1", "1.2.3", "a.1", "1.-2", "1. 2"}) {
    INFO(text);
    CHECK_FALSE(read_station_number(text));
  }
}

TEST_CASE("a station's name can be typed anywhere, and does not look like a number") {
  CHECK(station_name("Owl-2").value() == "owl-2");
  for (const char* name :
       {"", "two words", "../x", "12", "1.12", "10.0.0.7", "-owl", "a-name-of-too-many-letters"}) {
    INFO(name);
    const auto refused = station_name(name);
    REQUIRE_FALSE(refused);
    CHECK(refused.error().code == Code::bad_name);
  }
}

// RFC 5952 §4 for the forms of IPv6 addresses, RFC 4291 §2.5.5.2 for IPv4 ones within them.
TEST_CASE("a network address is kept in one form, however it is typed") {
  CHECK(network_address("10.0.0.7").value() == "10.0.0.7");
  CHECK(network_address("FD00:0:0::7").value() == "fd00::7");
  CHECK(network_address("2001:db8:0:0:1:0:0:1").value() == "2001:db8::1:0:0:1");
  CHECK(network_address("::ffff:10.0.0.7").value() == "10.0.0.7");
  using namespace std::string_view_literals;
  for (const auto text : {""sv, "10.0.0"sv, "10.0.0.256"sv, "010.0.0.1"sv, "owl"sv, "10.0.0.7 "sv,
                          "fd00::7%eth0"sv, "10.0.0.7\0x"sv, "::1\0"sv}) {
    INFO(text);
    CHECK_FALSE(network_address(text));
  }
}

// IEEE 802 §8: the lowest bit of the first octet tells a group's address from a machine's.
TEST_CASE("a hardware address is kept in one form, however it is typed") {
  for (const char* text :
       {"02:00:5E:00:00:0a", "02-00-5e-00-00-0A", "0200.5e00.000a", "02005e00000a"}) {
    CHECK(hardware_address(text).value() == "02:00:5e:00:00:0a");
  }
  for (const char* text : {"", "02:00:5e:00:00", "02:00:5e:00:00:0a:0b", "02:00:5e:00:00:0g",
                           "00:00:00:00:00:00", "01:00:5e:00:00:01", "ff:ff:ff:ff:ff:ff"}) {
    INFO(text);
    CHECK_FALSE(hardware_address(text));
  }
}

TEST_CASE("doors are kept in order, each once") {
  CHECK(station_doors({}).value().empty());
  CHECK(station_doors({"tftp", "LPD", "lpd"}).value() == "lpd tftp ");
  CHECK_FALSE(station_doors({"two words"}));
  CHECK_FALSE(station_doors({""}));
}
