#include "fs/retention.h"

#include <string>

#include <catch2/catch.hpp>

using namespace stationer::fs;
using namespace std::chrono_literals;

namespace {

const Time now{std::chrono::milliseconds(1'800'000'000'000)};
const AccountId robin{1};
const AccountId wren{2};

Past version(std::uint32_t node, std::uint64_t content, std::uint64_t size, Time since,
             AccountId owner = robin) {
  return {owner, NodeId{node}, ContentId{content}, size, since, false};
}
Past removal(std::uint32_t node, std::uint64_t size, Time since, AccountId owner = robin) {
  return {owner, NodeId{node}, ContentId{0}, size, since, false};
}

// The contents that go, removals as minus their node.
std::string going(const std::vector<Past>& all, const Retention& retention,
                  std::uint64_t shortage = 0, Time at = now) {
  std::string out;
  for (const Past& each : outdated(all, retention, at, shortage)) {
    out += each.is_removal() ? "-" + std::to_string(number(each.node))
                             : std::to_string(number(each.content));
    out += ' ';
  }
  return out;
}

}  // namespace

TEST_CASE("what is older than the days goes, and exactly as old stays") {
  const std::vector<Past> all{version(1, 10, 5, now - 24h * 30), removal(2, 5, now - 24h * 30 - 1s),
                              version(1, 11, 5, now + 24h)};  // the clock went back since
  CHECK(going(all, {30, 0, 0}) == "-2 ");
  CHECK(going(all, {0, 0, 0}) == "");
  CHECK(going(all, {29, 0, 0}) == "-2 10 ");
}

TEST_CASE("of one file the newest versions stay; removals are not counted with them") {
  std::vector<Past> all;
  for (std::uint64_t i = 1; i <= 5; ++i) all.push_back(version(1, i, 5, now - 1h * (10 - i)));
  all.push_back(version(2, 9, 5, now - 10h));
  all.push_back(removal(1, 5, now - 10h));
  CHECK(going(all, {0, 3, 0}) == "1 2 ");
  CHECK(going(all, {0, 5, 0}) == "");
}

TEST_CASE("an account's history has its bytes, and its newest piece stays however large") {
  const std::vector<Past> all{version(1, 1, 40, now - 3h), version(1, 2, 40, now - 2h),
                              version(1, 3, 20, now - 1h), version(7, 4, 999, now - 5h, wren)};
  CHECK(going(all, {0, 0, 100}) == "");
  CHECK(going(all, {0, 0, 99}) == "1 ");
  CHECK(going(all, {0, 0, 10}) == "1 2 ");
}

TEST_CASE("a short disk takes the oldest of all, but nothing of the last day") {
  const std::vector<Past> all{version(1, 1, 10, now - 72h), removal(2, 10, now - 48h, wren),
                              version(1, 3, 10, now - 25h), version(1, 4, 10, now - 23h)};
  CHECK(going(all, {0, 0, 0}, 1) == "1 ");
  CHECK(going(all, {0, 0, 0}, 11) == "1 -2 ");
  CHECK(going(all, {0, 0, 0}, 1'000'000) == "1 -2 3 ");
  // What goes anyway counts.
  CHECK(going(all, {2, 0, 0}, 10) == "1 ");
}

TEST_CASE("what belongs to a kept file stays whatever happens") {
  std::vector<Past> all{version(1, 1, 10, now - 24h * 900)};
  all[0].kept = true;
  CHECK(going(all, {1, 1, 1}, 1'000'000) == "");
}
