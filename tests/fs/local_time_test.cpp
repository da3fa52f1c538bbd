#include "fs/local_time.h"

#include <cstdlib>
#include <ctime>

#include "tests/support/catch.h"

using namespace stationer::fs;

namespace {

// The host's time zone, for the length of one test.
struct Zone {
  explicit Zone(const char* name) {
    if (const char* was = std::getenv("TZ")) before = was;
    setenv("TZ", name, 1);
    tzset();
  }
  Zone(const Zone&) = delete;
  Zone& operator=(const Zone&) = delete;
  ~Zone() {
    if (before.empty()) {
      unsetenv("TZ");
    } else {
      setenv("TZ", before.c_str(), 1);
    }
    tzset();
  }
  std::string before;
};

Time at(std::int64_t seconds) {
  return Time(std::chrono::seconds(seconds));
}

}  // namespace

TEST_CASE("moments are read and written by the host's time zone") {
  const Zone zone("TEST-2");  // two hours ahead of UTC (POSIX XBD 8.3, "TZ")
  // date -u -d '2026-12-01 13:30' +%s (GNU coreutils)
  CHECK(local_time_text(at(1796131800)) == "2026-12-01 15:30");
  CHECK(*parse_time("2026-12-01 15:30") == at(1796131800));
  CHECK(*parse_time("2026-12-01") == at(1796131800 - 15 * 3600 - 30 * 60));
  CHECK(*parse_time("2028-02-29 00:00") == *parse_time("2028-02-29"));
}

TEST_CASE("what is no moment is refused, and the sentence shows how to write one") {
  const Zone zone("TEST-1SUMMER,M3.5.0,M10.5.0/3");  // as in central Europe
  for (const char* text : {"",
                           "tomorrow",
                           "2026-12-1",
                           "2026-12-01 15",
                           "2026-12-01 15:3",
                           "2026-12-01T15:30",
                           "2026-02-30",
                           "2026-13-01",
                           "2026-00-10",
                           "2026-12-00",
                           "2026-12-01 24:00",
                           "2026-12-01 12:60",
                           "2026-12-01 15:30 ",
                           "-026-12-01",
                           "2026-12-01 15:30:00",
                           "2026",
                           "01.12.2026",
                           "1969-12-31",
                           "2200-01-01",
                           "2026-12-01x",
                           "2026-12-01 ",
                           "2026-12-01T15:30:00",
                           "2026-12-01T15:30:60Z",
                           "2026-12-01T15:30:00.1Z",
                           "2026-12-01T15:30Z"}) {
    INFO(text);
    const auto read = parse_time(text);
    REQUIRE_FALSE(read);
    CHECK(read.error().code == Code::bad_input);
    CHECK(read.error().message.find("2026-12-01 15:30") != std::string::npos);
  }
  CHECK_FALSE(parse_time("2026-03-29 02:30"));  // the clock goes from 2 to 3
  CHECK(parse_time("2026-03-29 03:00"));
  CHECK(parse_time("2026-10-25 02:30"));  // twice that night; one of the two is meant
}

TEST_CASE("a moment in the form of RFC 3339 is UTC") {
  const Zone zone("TEST-2");
  // RFC 3339 section 5.8 has the form; POSIX counts seconds from 1970.
  CHECK(*parse_time("1970-01-01T00:00:00Z") == at(0));
  CHECK(*parse_time("2027-01-15T08:00:00Z") == at(1'800'000'000));
  CHECK(*parse_time("2027-01-15T08:00:00.250Z") ==
        at(1'800'000'000) + std::chrono::milliseconds(250));
}

TEST_CASE("a day that something lasts until counts whole, and a time of it stands for itself") {
  const Zone zone("TEST-2");
  CHECK(*parse_time("2027-01-15", DayMeans::end) == *parse_time("2027-01-15T22:00:00Z"));
  CHECK(*parse_time("2027-12-31", DayMeans::end) == *parse_time("2028-01-01"));
  CHECK(*parse_time("2027-01-15 19:30", DayMeans::end) == *parse_time("2027-01-15 19:30"));
}

TEST_CASE("a day that has no midnight begins with its first minute") {
  const Zone zone("TEST3SUMMER,M10.3.0/0,M2.3.0/0");  // forward at midnight, the third Sunday
  CHECK(*parse_time("2026-10-18") == *parse_time("2026-10-18 01:00"));
  CHECK(*parse_time("2026-10-17", DayMeans::end) == *parse_time("2026-10-18 01:00"));
  CHECK_FALSE(parse_time("2026-10-18 00:30"));
}

TEST_CASE("days and weeks begin by the host's time zone, also where a clock is moved") {
  // Summer time begins on 2026-03-29 at 1:00 UTC (POSIX XBD 8.3, "TZ"); the seconds are by
  // date -d (GNU coreutils).
  const Zone zone("CET-1CEST,M3.5.0,M10.5.0/3");
  const Time sunday = at(1774785600);  // 2026-03-29 14:00 CEST
  CHECK(local_time_text(local_day(sunday)) == "2026-03-29 00:00");
  CHECK(local_time_text(local_day(sunday, 1)) == "2026-03-30 00:00");
  CHECK(local_time_text(local_week(sunday)) == "2026-03-23 00:00");
  CHECK(local_time_text(local_week(sunday, 1)) == "2026-03-30 00:00");
  CHECK(local_week(local_week(sunday, 1)) == local_week(sunday, 1));
  CHECK(local_day_text(sunday) == "Sunday, 2026-03-29");
}
