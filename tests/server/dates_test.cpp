#include "server/dates.h"

#include <cstdlib>
#include <ctime>

#include <catch2/catch.hpp>

using namespace stationer;
using server::parse_date;

namespace {

struct Zone {
  explicit Zone(const char* name) {
    ::setenv("TZ", name, 1);
    ::tzset();
  }
  ~Zone() {
    ::unsetenv("TZ");
    ::tzset();
  }
};

fs::Time utc(const char* text) {
  const auto time = parse_date(text);
  REQUIRE(time);
  return *time;
}

}  // namespace

TEST_CASE("a date in the form of RFC 3339 is UTC") {
  // RFC 3339 section 5.8 has the form; POSIX counts seconds from 1970.
  CHECK(utc("1970-01-01T00:00:00Z").time_since_epoch().count() == 0);
  CHECK(utc("2027-01-15T08:00:00Z").time_since_epoch().count() == 1'800'000'000'000);
  CHECK(utc("2027-01-15T08:00:00.250Z").time_since_epoch().count() == 1'800'000'000'250);
}

TEST_CASE("a day is that of the box, and its end is the next day's start") {
  const Zone zone("XST-2");  // two hours ahead of UTC, POSIX 8.3
  CHECK(parse_date("2027-01-15") == utc("2027-01-14T22:00:00Z"));
  CHECK(parse_date("2027-01-15", true) == utc("2027-01-15T22:00:00Z"));
  CHECK(parse_date("2027-12-31", true) == utc("2027-12-31T22:00:00Z"));
  CHECK(parse_date("2027-01-15 19:30") == utc("2027-01-15T17:30:00Z"));
  CHECK(parse_date("2027-01-15 19:30", true) == utc("2027-01-15T17:30:00Z"));
}

TEST_CASE("what is no date is none") {
  for (const char* text :
       {"", "soon", "2027", "2027-1-5", "2027-13-01", "2027-02-29", "1969-12-31", "2200-01-01",
        "2027-01-15x", "2027-01-15 ", "2027-01-15 24:00", "2027-01-15 19:60", "2027-01-15 19:30:00",
        "2027-01-15T19:30", "2027-01-15T19:30:00", "2027-01-15T19:30:60Z", "2027-01-15T19:30:00.1Z",
        "15.01.2027"}) {
    INFO(text);
    CHECK_FALSE(parse_date(text));
  }
}
