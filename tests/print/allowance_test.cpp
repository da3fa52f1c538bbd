#include "print/allowance.h"

#include <cstdlib>
#include <ctime>

#include <catch2/catch.hpp>

using namespace stationer;
using namespace stationer::print;

TEST_CASE("an allowance says the limit, what is used, what is left, and when it begins anew") {
  ::setenv("TZ", "UTC", 1);
  ::tzset();
  // A Friday. date -u -d @1800000000 (GNU coreutils)
  const fs::Time now(std::chrono::milliseconds(1'800'000'000'000));
  CHECK_FALSE(allowance({}, {5, 5}, "paper", now));
  const auto day = allowance({10, 0}, {8, 100}, "paper", now);
  REQUIRE(day);
  CHECK(day->left == 2);
  CHECK(
      day->words ==
      "In the queue paper a member may print 10 pages a day. 8 are used, and 2 are left. It begins "
      "anew on Saturday, 2027-01-16.");
  const auto week = allowance({10, 40}, {1, 39}, "paper", now);
  CHECK(week->left == 1);
  CHECK(week->words ==
        "In the queue paper a member may print 40 pages a week. 39 are used, and 1 is left. It "
        "begins "
        "anew on Monday, 2027-01-18.");
  CHECK(allowance({10, 40}, {10, 39}, "paper", now)->words.find("a day") != std::string::npos);
  // Of two that are as near, the one that lasts longer.
  CHECK(allowance({2, 4}, {1, 3}, "paper", now)->words.find("a week") != std::string::npos);
  const auto over = allowance({1, 0}, {3, 3}, "paper", now);
  CHECK(over->left == 0);
  CHECK(
      over->words ==
      "In the queue paper a member may print 1 page a day. All of them are used. It begins anew on "
      "Saturday, 2027-01-16.");
}
