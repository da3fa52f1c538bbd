#include "fs/day_time.h"

#include <catch2/catch.hpp>

using namespace stationer::fs;
using namespace std::chrono_literals;

TEST_CASE("time of day: four digits and a colon") {
  CHECK(time_of_day("00:00") == 0min);
  CHECK(time_of_day("03:05") == 185min);
  CHECK(time_of_day("23:59") == 1439min);
  for (const char* wrong :
       {"", "3:05", "24:00", "12:60", "12.30", "12:3", "12:300", "ab:cd", "-1:00"}) {
    CHECK_FALSE(time_of_day(wrong));
  }
}

TEST_CASE("time of day: when it was last that time, wherever the box stands") {
  const Time noon(std::chrono::sys_days(std::chrono::year(2026) / 11 / 25) + 12h);
  CHECK(last_at(11h, noon, 0s) == noon - 1h);
  CHECK(last_at(12h, noon, 0s) == noon);
  CHECK(last_at(13h, noon, 0s) == noon - 23h);
  // Where the clock shows 14:00 then, 13:00 was an hour ago.
  CHECK(last_at(13h, noon, 2h) == noon - 1h);
  CHECK(last_at(13h, noon, -2h) == noon - 21h);
}
