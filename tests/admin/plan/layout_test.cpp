// Boxes, sockets and cables. Check values of parts: common practice, no source.
#include "admin/plan/layout.h"

#include <catch2/catch.hpp>

#include "admin/plan/plan.h"
#include "admin/plan/plan_file.h"

using namespace stationer;
using namespace stationer::admin;

namespace {

RoomPlan room(std::string_view text) {
  auto plan = read_plan(text, "room.toml");
  INFO((plan ? std::string() : plan.error().message));
  REQUIRE(plan);
  return *plan;
}

PartsList parts(std::string_view text) {
  const RoomPlan plan = room(text);
  return parts_of(plan, lay_out(plan));
}

using Counts = std::map<std::uint32_t, std::uint64_t>;

}  // namespace

TEST_CASE("eight machines and a timing unit need two end boxes of one socket and four of two") {
  const PartsList found = parts("[[segment]]\nmore = 8\n");
  CHECK(found.end_boxes == Counts{{1, 2}});
  CHECK(found.boxes == Counts{{2, 4}});
  CHECK(found.terminators == 2);
  CHECK(found.timing_units == 1);
  CHECK(found.stations == 8);
  CHECK(found.bridges == 0);
  CHECK(found.free_sockets == 1);
  CHECK(found.bus_cables == CableLengths{{4000, 5}});      // 3 m, 10 % and half a metre: 3.8 m
  CHECK(found.machine_cables == CableLengths{{2500, 9}});  // 1.5 m: 2.15 m
}

TEST_CASE("every size has sockets enough, and no box more than it needs") {
  for (std::size_t things = 0; things <= 600; ++things) {
    const auto boxes = boxes_for(things);
    std::size_t sockets = 0;
    for (const std::uint32_t each : boxes) sockets += each;
    REQUIRE(boxes.size() >= 2);
    REQUIRE(boxes.front() == 1);
    REQUIRE(boxes.back() == 1);
    REQUIRE(sockets >= things);
    // With one box less there would be too few.
    REQUIRE((boxes.size() == 2 || sockets - 2 < things));
  }
  CHECK(boxes_for(2).size() == 2);
  CHECK(boxes_for(3) == std::vector<std::uint32_t>{1, 2, 1});
  CHECK(boxes_for(4) == std::vector<std::uint32_t>{1, 2, 1});
  CHECK(boxes_for(5) == std::vector<std::uint32_t>{1, 2, 2, 1});
}

TEST_CASE("126 bridges join 127 segments with 32,258 stations") {
  std::string text;
  for (int i = 0; i < 127; ++i) text += "[[segment]]\nmore = 254\n";
  const Plan plan(room(text));
  CHECK(plan.parts.stations == 32'258);
  CHECK(plan.parts.bridges == 126);
  CHECK(plan.parts.terminators == 254);
  CHECK(plan.parts.timing_units == 127);
  CHECK(plan.broken() == 0);
  CHECK(plan.ways.farthest() == 126);
  // Every segment has its stations and its timing unit; the outer two one bridge, all others two.
  CHECK(plan.parts.machine_cables.begin()->second + plan.parts.machine_cables.rbegin()->second ==
        32'258 + 127 + 2 * 126);
  CHECK(plan.room.segments[126].stations[253].number == 254);
}

TEST_CASE(
    "what has a socket is plugged in along the cable: the timing unit, then the stations, "
    "then bridges") {
  const RoomPlan plan = room(R"([room]
stationer_on = 2
[[segment]]
more = 2
[[segment]]
more = 1
timing_unit = false
)");
  const RoomLayout layout = lay_out(plan);
  const auto kinds = [](const SegmentLayout& segment) {
    std::vector<Plugged::Kind> out;
    for (const Plugged& each : segment.plugged) out.push_back(each.kind);
    return out;
  };
  using Kind = Plugged::Kind;
  CHECK(kinds(layout.segments[0]) ==
        std::vector<Kind>{Kind::timing_unit, Kind::station, Kind::station, Kind::bridge});
  CHECK(kinds(layout.segments[1]) == std::vector<Kind>{Kind::host, Kind::station, Kind::bridge});
  // The bridge stands on the first of its segments; its longer cable leads to the other.
  CHECK(layout.segments[0].plugged.back().cable == 1500);
  CHECK(layout.segments[1].plugged.back().cable == 10'000);
  REQUIRE(layout.segments[1].boxes.size() == 3);
  CHECK(layout.segments[1].boxes[0].count == 1);
  CHECK(layout.segments[1].boxes[1].count == 2);
  CHECK(layout.segments[1].boxes[2].count == 0);
}

TEST_CASE("boxes that are there already are used, and what finds no socket is counted") {
  const RoomPlan plan = room("[[segment]]\nmore = 8\nboxes = [1, 4, 2, 0]\n");
  const RoomLayout layout = lay_out(plan);
  CHECK(layout.segments[0].boxes.size() == 4);
  CHECK(layout.segments[0].sockets() == 7);
  CHECK(layout.segments[0].left_out == 2);
  const PartsList found = parts_of(plan, layout);
  CHECK(found.end_boxes == Counts{{0, 1}, {1, 1}});
  CHECK(found.boxes == Counts{{2, 1}, {4, 1}});
}

TEST_CASE("a cable is longer than what is measured, and then as long as it can be had") {
  CableRule rule;  // 10 % and half a metre
  CHECK(with_slack(rule, 0) == 500);
  CHECK(with_slack(rule, 3000) == 3800);
  CHECK(with_slack(rule, 1001) == 1602);  // a fraction of a millimetre counts whole
  CHECK(to_be_had(rule, 3000) == 4000);   // to half metres
  CHECK(to_be_had(rule, 0) == 500);
  rule.slack_percent = 0;
  rule.slack = 0;
  CHECK(to_be_had(rule, 3000) == 3000);
  CHECK(to_be_had(rule, 3001) == 3500);
  rule.ready_made = {2000, 5000};
  CHECK(to_be_had(rule, 2000) == 2000);
  CHECK(to_be_had(rule, 2001) == 5000);
  CHECK(to_be_had(rule, 5001) == 0);
}

TEST_CASE("a bus is as long as its stretches with their slack") {
  const RoomPlan plan = room(R"([cable]
slack_percent = 20
slack_m = 0
[[segment]]
more = 4
box_to_box_m = [1, 2.5, 0.25]
)");
  const RoomLayout layout = lay_out(plan);
  CHECK(layout.segments[0].stretches == std::vector<Millimetres>{1000, 2500, 250});
  CHECK(layout.segments[0].length == 4500);
}

TEST_CASE("machines go on extension leads by their outlets and by what they draw") {
  const auto leads = [](std::string_view text) {
    const PartsList found = parts(text);
    return std::pair(found.outlets, found.leads);
  };
  const auto pair = [](std::uint64_t outlets, std::uint64_t count) {
    return std::pair(outlets, count);
  };
  // Three machines of two outlets fill a lead of six; the timing unit has a lead of its own.
  CHECK(leads("[[segment]]\nmore = 3\n") == pair(7, 2));
  CHECK(leads("[[segment]]\nmore = 4\n") == pair(9, 3));
  CHECK(leads("[mains]\nlead_outlets = 5\n[[segment]]\nmore = 5\ntiming_unit = false\n") ==
        pair(10, 3));
  // Of 1000 W each a lead of 2300 W takes two.
  CHECK(leads("[mains]\nwatts = 1000\nlead_watts = 2300\n[[segment]]\nmore = 5\n"
              "timing_unit = false\n") == pair(10, 3));
  CHECK(leads("[mains]\noutlets = 9\nlead_outlets = 4\n[[segment]]\nmore = 1\n"
              "timing_unit = false\n") == pair(9, 3));
  CHECK(leads("[mains]\noutlets = 0\n[[segment]]\nmore = 5\ntiming_unit = false\n") == pair(0, 0));
  // Each table has leads of its own.
  const PartsList tables = parts(R"([[segment]]
timing_unit = false
[[segment.station]]
table = "North"
[[segment.station]]
table = "South"
watts = 70
[[segment.station]]
table = "North"
)");
  REQUIRE(tables.mains.size() == 2);
  CHECK(tables.mains[0].table == "North");
  CHECK(tables.mains[0].outlets == 4);
  CHECK(tables.mains[1].watts == 70);
  CHECK(tables.leads == 2);
}
