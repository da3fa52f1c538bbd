#include "fs/snapshot_plan.h"

#include <algorithm>

#include <catch2/catch.hpp>

using namespace stationer::fs;
using namespace std::chrono_literals;

namespace {

Time at(int year, unsigned month, unsigned day, std::chrono::minutes of_day = {}) {
  return std::chrono::sys_days(std::chrono::year(year) / static_cast<int>(month) /
                               static_cast<int>(day)) +
         of_day;
}

SnapshotPlan plan_of(std::string_view text) {
  auto plan = read_snapshot_plan(text);
  if (!plan) FAIL(plan.error().message);
  return *plan;
}

std::string complaint(std::string_view text) {
  auto plan = read_snapshot_plan(text);
  REQUIRE_FALSE(plan);
  return plan.error().message;
}

}  // namespace

TEST_CASE("the plan of snapshots is read from the settings") {
  const SnapshotPlan standard = plan_of("");
  CHECK(standard.daily_at == 180min);
  CHECK(standard.folder.empty());
  CHECK(plan_of(new_snapshot_settings()).daily_at == standard.daily_at);
  CHECK(plan_of(new_snapshot_settings()).months == standard.months);
  const SnapshotPlan own = plan_of(
      "[snapshots]\nfolder = \"/mnt/second\"\ndaily_at = \"23:59\"\ndays = 1\nweeks = 0\n"
      "months = 3\n");
  CHECK(own.folder == "/mnt/second");
  CHECK(own.daily_at == 23h + 59min);
  CHECK(own.days == 1);
  CHECK(own.weeks == 0);
  CHECK(own.months == 3);
  CHECK_FALSE(plan_of("[snapshots]\ndaily_at = \"\"\n").daily_at);
}

TEST_CASE("settings that make no sense are refused with their line") {
  CHECK(complaint("[snapshots]\ndaily_at = \"24:00\"\n").find("line 2") != std::string::npos);
  for (const char* wrong : {"3:00", "03.00", "03:60", "0300", "noon", "-1:00"}) {
    INFO(wrong);
    CHECK(complaint("[snapshots]\ndaily_at = \"" + std::string(wrong) + "\"\n")
              .find("daily_at must be a time") != std::string::npos);
  }
  CHECK(complaint("[snapshots]\nfolder = \"copies\"\n").find("whole path") != std::string::npos);
  CHECK(complaint("[snapshots]\nhours = 1\n").find("no setting \"hours\"") != std::string::npos);
  CHECK(complaint("[snapshots]\ndays = -1\n").find("days must be") != std::string::npos);
}

TEST_CASE("a snapshot is due once the time of day has come since the last one") {
  SnapshotPlan plan;  // 03:00
  const Time last = at(2026, 11, 24, 3h + 1min);
  CHECK_FALSE(snapshot_is_due(plan, last, at(2026, 11, 24, 23h), 0s));
  CHECK_FALSE(snapshot_is_due(plan, last, at(2026, 11, 25, 2h + 59min), 0s));
  CHECK(snapshot_is_due(plan, last, at(2026, 11, 25, 3h), 0s));
  // A box that is on in the evening only catches up.
  CHECK(snapshot_is_due(plan, last, at(2026, 11, 25, 19h), 0s));
  CHECK_FALSE(snapshot_is_due(plan, at(2026, 11, 25, 19h), at(2026, 11, 26, 1h), 0s));
  // By the box's clock: 02:00 UTC is 03:00 an hour to the east.
  CHECK(snapshot_is_due(plan, last, at(2026, 11, 25, 2h), 3600s));
  CHECK_FALSE(snapshot_is_due(plan, last + 1h, at(2026, 11, 25, 3h), -3600s));
  plan.daily_at.reset();
  CHECK_FALSE(snapshot_is_due(plan, last, at(2027, 11, 25), 0s));
}

TEST_CASE("of each day, week and month the last snapshot is kept, for as many as the plan says") {
  SnapshotPlan plan;
  plan.days = 3;
  plan.weeks = 2;
  plan.months = 2;
  // 2026-11-25 is a Wednesday; weeks begin on Mondays (ISO 8601).
  const std::vector<Time> taken = {at(2026, 11, 25, 3h), at(2026, 11, 25, 1h), at(2026, 11, 24, 3h),
                                   at(2026, 11, 23, 3h), at(2026, 11, 22, 3h), at(2026, 11, 21, 3h),
                                   at(2026, 11, 15, 3h), at(2026, 10, 31, 3h), at(2026, 10, 30, 3h),
                                   at(2026, 9, 30, 3h)};
  const std::vector<Time> expected = {
      at(2026, 11, 25, 1h),  // not the day's last
      at(2026, 11, 21, 3h),  // neither of the last three days, nor its week's last
      at(2026, 11, 15, 3h),  // the third week
      at(2026, 10, 30, 3h),  // not its month's last
      at(2026, 9, 30, 3h)};  // the third month
  CHECK(superfluous_snapshots(plan, taken, 0s) == expected);
  // In any order they are given.
  std::vector<Time> turned(taken.rbegin(), taken.rend());
  CHECK(superfluous_snapshots(plan, turned, 0s) == expected);
  // Days are those of the box's clock: two hours to the west, 01:00 belongs to the day before.
  const auto west = superfluous_snapshots(plan, taken, -7200s);
  CHECK(std::count(west.begin(), west.end(), at(2026, 11, 25, 1h)) == 0);
}

TEST_CASE("the newest snapshot is kept whatever the plan says") {
  SnapshotPlan none;
  none.days = none.weeks = none.months = 0;
  CHECK(superfluous_snapshots(none, {at(2026, 1, 1), at(2026, 1, 2)}, 0s) ==
        std::vector{at(2026, 1, 1)});
  CHECK(superfluous_snapshots(none, {}, 0s).empty());
}

TEST_CASE("a snapshot's name tells when it was taken, and no other name does") {
  const Time time = at(2026, 11, 25, 19h + 30min) + 5s;
  const std::string name = snapshot_name("Tidewrack Mill", time);
  CHECK(name == "tidewrack-mill-2026-11-25-193005.tar.zst");
  CHECK(snapshot_time("Tidewrack Mill", name) == time);
  CHECK(snapshot_name("  \xC3\x89t\xC3\xA9!", time) == "t-2026-11-25-193005.tar.zst");
  CHECK(snapshot_name("***", time) == "volume-2026-11-25-193005.tar.zst");
  for (const char* other :
       {"tidewrack-mill-2026-11-25-193005.tar", "tidewrack-mill-2026-13-25-193005.tar.zst",
        "tidewrack-mill-2026-11-25-253005.tar.zst", "tidewrack-mill-2026-11-25.tar.zst",
        "tidewrack-mill-2026.11.25-193005.tar.zst", "other-2026-11-25-193005.tar.zst",
        "tidewrack-mill-2026-11-25-193005.tar.zst.part", "tidewrack-mill-.tar.zst", ""}) {
    INFO(other);
    CHECK_FALSE(snapshot_time("Tidewrack Mill", other));
  }
}
