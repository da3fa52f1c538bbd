#include "server/profile.h"

#include <catch2/catch.hpp>

using namespace stationer;
using namespace stationer::server;

namespace {

fs::Result<StationPlan> read(const std::string& text) {
  auto queues = print::read_queues(text);
  if (!queues) return queues.error();
  return read_station_plan(text, *queues);
}

std::string complaint(const std::string& text) {
  auto plan = read(text);
  return plan ? "none" : plan.error().message;
}

}  // namespace

TEST_CASE("settings that say nothing of stations have the usual profile and let all come in") {
  const auto plan = read("");
  REQUIRE(plan);
  CHECK(plan->unknown);
  REQUIRE(plan->profiles.size() == 1);
  const Profile& usual = plan->profiles.at("usual");
  CHECK(usual.name == "usual");
  CHECK(usual.screen.columns == 80);
  CHECK(usual.rows == 24);
  CHECK(usual.screen.ending == LineEnding::cr_lf);
  CHECK(usual.names->name == "long");
  CHECK(usual.block_after_last == 0);
}

TEST_CASE("profiles are read from the settings") {
  const auto plan = read(
      "[queue.listing]\n"
      "[profile.Micro]\nline_end = \"cr\"\ncharset = \"iso646-gb\"\ncapitals = true\ncolumns = 40\n"
      "rows = 16\nnames = \"micro7\"\nqueue = \"listing\"\nblock_after_last = 1\n"
      "[profile.usual]\nline_end = \"lf\"\n"
      "[stations]\nunknown = false\n");
  if (!plan) FAIL(plan.error().message);
  CHECK_FALSE(plan->unknown);
  const Profile& micro = plan->profiles.at("micro");
  CHECK(micro.name == "micro");
  CHECK(micro.screen.ending == LineEnding::cr);
  CHECK(micro.screen.charset == *print::find_charset("iso646-gb"));
  CHECK(micro.screen.capitals);
  CHECK(micro.screen.columns == 40);
  CHECK(micro.rows == 16);
  CHECK(micro.names->name == "micro7");
  CHECK(micro.queue == "listing");
  CHECK(micro.block_after_last == 1);
  CHECK(plan->profiles.at("usual").screen.ending == LineEnding::lf);
}

TEST_CASE("what can't be right about profiles is told with its line") {
  for (const char* line :
       {"line_end = \"none\"", "charset = \"runes\"", "capitals = 1", "columns = 5", "rows = 999",
        "names = \"nine\"", "queue = \"none\"", "block_after_last = 2", "pork = 3"}) {
    INFO(line);
    CHECK(complaint(std::string("\n[profile.micro]\n") + line).find("line 3") != std::string::npos);
  }
  CHECK(complaint("[profile.\"two words\"]\n").find("line 1: The name of a profile has") !=
        std::string::npos);
  CHECK(complaint("[stations]\nunknown = 1\n").find("line 2") != std::string::npos);
  CHECK(complaint("[stations]\nknown = true\n").find("line 2") != std::string::npos);
  CHECK(complaint("profile = 1\n").find("line 1") != std::string::npos);
}
