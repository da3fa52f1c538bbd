// A planned room beside the one that is registered.
#include "admin/plan/comparison.h"

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "admin/plan/plan_file.h"

using namespace stationer;
using namespace stationer::admin;

namespace {

// The differences in lines.
std::string told(std::string_view text, const std::vector<RegisteredStation>& registered) {
  const auto plan = read_plan(text, "room.toml");
  REQUIRE(plan);
  std::string out;
  for (const Difference& each : compare(*plan, registered)) {
    out += fmt::format("{} {}.{} {}: {}\n", kind_name(each.kind), each.segment, each.number,
                       each.name, each.sentence);
  }
  return out;
}

const std::string planned = R"([[segment]]
more = 1
[[segment.station]]
name = "owl"
profile = "micro"
address = "10.0.0.7"
[[segment.station]]
name = "wren-desk"
)";

}  // namespace

TEST_CASE("a room that is as planned has no differences") {
  CHECK(told(planned, {{1, 1, "owl", "micro", "10.0.0.7", "", ""},
                       {1, 2, "wren-desk", "other", "10.0.0.8", "", "bench"},
                       {1, 3, "whatever", "", "", "", ""}})
            .empty());
}

TEST_CASE("what is planned and not registered is missing, what is only registered is extra") {
  CHECK(told(planned, {{2, 1, "dipper", "", "", "", ""}}) ==
        "missing 1.1 owl: It is planned, and not registered.\n"
        "missing 1.2 wren-desk: It is planned, and not registered.\n"
        "extra 2.1 dipper: It is registered, and not in the plan.\n");
}

TEST_CASE("a station that is registered otherwise is told with all that differs") {
  CHECK(
      told(planned, {{1, 9, "owl", "", "10.0.0.8", "", ""}, {1, 2, "curlew", "", "", "", ""}}) ==
      "different 1.1 owl: It is registered with the number 1.9 rather than 1.1, no profile rather "
      "than micro and the address 10.0.0.8 rather than 10.0.0.7.\n"
      "different 1.2 wren-desk: It is registered with the name curlew rather than wren-desk.\n");
}

TEST_CASE("a registered station answers to one planned one only") {
  CHECK(told("[[segment]]\n[[segment.station]]\nname = \"owl\"\n[[segment.station]]\nname = "
             "\"dipper\"\n",
             {{1, 2, "owl", "", "", "", ""}}) ==
        "different 1.1 owl: It is registered with the number 1.2 rather than 1.1.\n"
        "missing 1.2 dipper: It is planned, and not registered.\n");
}
