#include "tests/support/efficiency.h"

#include "tests/support/catch.h"

using namespace stationer::tests;

TEST_CASE(
    "every protocol is as fast as its framing permits, on slow and fast lines and over distance") {
  for (const Efficiency& row : measure_efficiency()) {
    CAPTURE(row.what, row.bits_a_second, row.delay.count(), row.seconds);
    CHECK(row.of_framing() >= 0.95);
    CHECK(row.of_framing() <= 1.03);  // else the formula is wrong
  }
}
