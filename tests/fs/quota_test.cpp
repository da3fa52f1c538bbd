#include "fs/quota.h"

#include <catch2/catch.hpp>

#include "fs/size_words.h"

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

TEST_CASE("79, 80 and 81 per cent, the limit and one more") {
  const Quota quota{.soft_bytes = 1000, .hard_bytes = 1250, .soft_files = 10, .hard_files = 12};
  CHECK(fullness(quota, {790, 1}) == Fullness::roomy);
  CHECK(fullness(quota, {799, 7}) == Fullness::roomy);
  CHECK(fullness(quota, {800, 1}) == Fullness::nearly_full);
  CHECK(fullness(quota, {810, 1}) == Fullness::nearly_full);
  CHECK(fullness(quota, {1000, 1}) == Fullness::nearly_full);
  CHECK(fullness(quota, {1001, 1}) == Fullness::over);
  CHECK(fullness(quota, {0, 8}) == Fullness::nearly_full);
  CHECK(fullness(quota, {0, 10}) == Fullness::nearly_full);
  CHECK(fullness(quota, {0, 11}) == Fullness::over);
  // A hard limit alone is never passed, only met.
  CHECK(fullness({.hard_bytes = 1000}, {1000, 1}) == Fullness::nearly_full);
  CHECK(fullness({}, {~std::uint64_t{0}, 1}) == Fullness::roomy);
}

TEST_CASE("grace as it is set: none at all, a day") {
  const Quota quota{.soft_bytes = 100, .hard_bytes = 200};
  const Time start{std::chrono::milliseconds(1'000'000)};
  CHECK(may_grow(quota, {0, 1}, {100, 1}, {}, start, 0h));
  CHECK_FALSE(may_grow(quota, {0, 1}, {101, 1}, {}, start, 0h));
  CHECK(*bytes_left(quota, {60, 1}, {}, start, 0h) == 40);
  CHECK(may_grow(quota, {101, 1}, {102, 1}, start, start + 24h, 24h));
  CHECK_FALSE(may_grow(quota, {101, 1}, {102, 1}, start, start + 24h + 1ms, 24h));
}

TEST_CASE("a clock that was wrong neither takes grace away nor makes it endless") {
  const Time made{std::chrono::hours(24 * 365 * 50)};
  const Time passed = made + 48h;
  CHECK_FALSE(over_since_as_of(passed, false, passed, made));
  CHECK(over_since_as_of(passed, true, {}, made) == passed);
  CHECK(over_since_as_of(passed + 100h, true, passed, made) == passed);
  // Put back behind the moment: it runs anew, once.
  CHECK(over_since_as_of(passed - 5h, true, passed, made) == passed - 5h);
  // A machine that starts without a clock, long before the account was made: what was noted stays,
  // and what is noted then counts for nothing when the clock is right.
  const Time no_clock{};
  CHECK(over_since_as_of(no_clock, true, passed, made) == passed);
  CHECK(over_since_as_of(no_clock, true, {}, made) == no_clock);
  CHECK(over_since_as_of(passed, true, no_clock, made) == passed);
  // A moment years ahead, from a clock that was.
  CHECK(over_since_as_of(passed, true, passed + 24h * 3650, made) == passed);
}

TEST_CASE("a refusal says sizes as people read them") {
  const Quota quota{.hard_bytes = 80u << 20};
  const auto refused = may_grow(quota, {(79u << 20) + 900'000, 1}, {81u << 20, 1}, {}, {});
  REQUIRE_FALSE(refused);
  CHECK(refused.error().message ==
        "There is no room: the space allowed is 80.0M and 79.9M are in use. Remove what is not "
        "needed, or ask for more.");
  CHECK(size_in_words(0) == "0 bytes");
  CHECK(size_in_words(1) == "1 byte");
  CHECK(size_in_words(999) == "999 bytes");
  CHECK(size_in_words(1000) == "1.0K");
}

TEST_CASE("a refusal says whose space it is, when it is not the reader's") {
  const Quota quota{.hard_bytes = 100, .hard_files = 2};
  const auto said = [&](const Usage& before, const Usage& after, std::string_view whose) {
    const auto refused = may_grow(quota, before, after, {}, {}, default_grace, whose);
    return refused ? std::string() : refused.error().message;
  };
  CHECK(said({90, 1}, {101, 1}, "") ==
        "There is no room: the space allowed is 100 bytes and 90 bytes are in use. Remove what is "
        "not needed, or ask for more.");
  CHECK(said({90, 1}, {101, 1}, "robin") ==
        "There is no room among the files of robin: the space allowed is 100 bytes and 90 bytes "
        "are in use. Something of theirs has to go, or they need more.");
  CHECK(said({90, 2}, {90, 3}, "robin") ==
        "There is no room among the files of robin: 2 files and folders are allowed and 2 are "
        "there. Something of theirs has to go, or they need more.");
}
