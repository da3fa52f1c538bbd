#include "fs/quota.h"

#include <catch2/catch.hpp>

using namespace stationer::fs;
using namespace std::chrono_literals;

// quotactl(2): a hard limit is never exceeded; a soft one may be for a grace period (default one
// week), after which it acts as hard.
TEST_CASE("soft limits warn for a week, hard ones never give") {
  const Quota quota{.soft_bytes = 100, .hard_bytes = 120};
  const Time start{std::chrono::milliseconds(1'000'000)};
  CHECK(may_grow(quota, {0, 0}, {100, 1}, {}, start));
  CHECK_FALSE(over_soft(quota, {100, 1}));
  CHECK(over_soft(quota, {101, 1}));
  CHECK(may_grow(quota, {100, 1}, {101, 1}, {}, start));
  CHECK(may_grow(quota, {100, 1}, {120, 1}, {}, start));  // exactly the limit is allowed
  CHECK_FALSE(may_grow(quota, {100, 1}, {121, 1}, {}, start));
  CHECK(may_grow(quota, {101, 1}, {102, 1}, start, start + 7 * 24h));
  CHECK_FALSE(may_grow(quota, {101, 1}, {102, 1}, start, start + 7 * 24h + 1s));
  CHECK(may_grow(quota, {110, 1}, {105, 1}, start, start + 8 * 24h));  // shrinking always may
  CHECK(may_grow(quota, {500, 1}, {400, 1}, {}, start));
}

TEST_CASE("files are counted as bytes are") {
  const Quota quota{.soft_files = 2, .hard_files = 3};
  const Time now{};
  CHECK(may_grow(quota, {0, 2}, {0, 3}, {}, now));
  const auto refused = may_grow(quota, {0, 3}, {0, 4}, {}, now);
  REQUIRE_FALSE(refused);
  CHECK(refused.error().code == Code::over_quota);
  CHECK(may_grow(quota, {0, 3}, {1'000'000, 3}, {}, now));
}

TEST_CASE("no limit is no limit") {
  CHECK(may_grow({}, {0, 0}, {~std::uint64_t{0} / 2, 1u << 31}, {}, {}));
  CHECK_FALSE(bytes_left({}, {5, 5}, {}, {}));
  CHECK_FALSE(is_nearly_full({}, {5, 5}));
}

TEST_CASE("what is left is what may still be written") {
  const Quota quota{.soft_bytes = 100, .hard_bytes = 120};
  const Time start{};
  CHECK(*bytes_left(quota, {90, 1}, {}, start) == 30);
  CHECK(*bytes_left(quota, {120, 1}, start, start) == 0);
  CHECK(*bytes_left(quota, {90, 1}, start, start + 8 * 24h) == 10);
  CHECK(*bytes_left(quota, {110, 1}, start, start + 8 * 24h) == 0);
}

TEST_CASE("the warning comes at four fifths of the nearest limit") {
  const Quota quota{.soft_bytes = 100, .hard_bytes = 120};
  CHECK_FALSE(is_nearly_full(quota, {79, 1}));
  CHECK(is_nearly_full(quota, {80, 1}));
  const Quota files{.hard_files = 10};
  CHECK_FALSE(is_nearly_full(files, {0, 7}));
  CHECK(is_nearly_full(files, {0, 8}));
}
