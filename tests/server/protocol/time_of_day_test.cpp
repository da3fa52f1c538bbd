#include "server/protocol/time_of_day.h"

#include <catch2/catch.hpp>

using namespace stationer;
using namespace stationer::server;
using namespace std::chrono_literals;

namespace {

using Date = std::chrono::year_month_day;

fs::Time at(int year, unsigned month, unsigned day, std::chrono::milliseconds later = 0ms) {
  return fs::Time(std::chrono::sys_days(
             Date(std::chrono::year(year), std::chrono::month(month), std::chrono::day(day)))) +
         later;
}

std::string hex(const std::string& octets) {
  constexpr std::string_view digits = "0123456789ABCDEF";
  std::string out;
  for (const char c : octets) {
    const auto octet = static_cast<unsigned char>(c);
    out += digits[octet >> 4];
    out += digits[octet & 15];
  }
  return out;
}

}  // namespace

TEST_CASE("the time is told in the octets of RFC 868") {
  // RFC 868, the examples at its end; 2000 by the formula there, (unix + 2,208,988,800) mod 2^32.
  CHECK(hex(time_octets(at(1900, 1, 1, 1s))) == "00000001");
  CHECK(hex(time_octets(at(1970, 1, 1))) == "83AA7E80");
  CHECK(hex(time_octets(at(1976, 1, 1))) == "8EF30500");
  CHECK(hex(time_octets(at(1980, 1, 1))) == "96792480");
  CHECK(hex(time_octets(at(1983, 5, 1))) == "9CBC4480");
  CHECK(hex(time_octets(at(2000, 1, 1))) == "BC17C200");
}

TEST_CASE("the time begins again in 2036, and is 0 before 1900") {
  // By the formula; RFC 5905, figure 4, has the last one.
  CHECK(hex(time_octets(at(2036, 2, 7, 6h + 28min + 15s))) == "FFFFFFFF");
  CHECK(hex(time_octets(at(2036, 2, 7, 6h + 28min + 16s))) == "00000000");
  CHECK(hex(time_octets(at(2036, 2, 8))) == "0000F680");
  CHECK(hex(time_octets(at(1858, 11, 17))) == "00000000");
  CHECK(hex(time_octets(at(1969, 12, 31, 23h + 59min + 59s + 999ms))) == "83AA7E7F");
}

// RFC 867: one line of ASCII printing characters, space, CR and LF.
TEST_CASE("the day and time are told in a line") {
  CHECK(daytime_line(at(1982, 2, 23, 1h + 37min + 43s + 999ms), -8h) ==
        "Monday, February 22, 1982 17:37:43 UTC-08:00\r\n");
  CHECK(daytime_line(at(2026, 11, 29, 23h + 30min), 5h + 30min) ==
        "Monday, November 30, 2026 05:00:00 UTC+05:30\r\n");
  CHECK(daytime_line(at(2028, 2, 29), 0h) == "Tuesday, February 29, 2028 00:00:00 UTC\r\n");
}

TEST_CASE("services that answer everything are not answered") {
  for (const unsigned port : {0u, 7u, 13u, 17u, 19u, 37u}) {
    CHECK_FALSE(may_be_asking(static_cast<std::uint16_t>(port)));
  }
  for (const unsigned port : {1u, 1023u, 8013u, 65535u}) {
    CHECK(may_be_asking(static_cast<std::uint16_t>(port)));
  }
}
