// A plan's file: what it can say, and what is said of one that is wrong.
#include "admin/plan/plan_file.h"

#include <catch2/catch.hpp>

#include "admin/plan/plan.h"

using namespace stationer;
using namespace stationer::admin;

namespace {

std::string why(std::string_view text) {
  const auto plan = read_plan(text, "mill.toml");
  return plan ? "nothing is wrong" : plan.error().message;
}

}  // namespace

TEST_CASE("the example can be built, and says all that can be said") {
  const auto room = read_plan(example_plan(), "example");
  INFO((room ? std::string() : room.error().message));
  REQUIRE(room);
  CHECK(room->name == "Tidewrack Mill");
  CHECK(Plan(*room).broken() == 0);
  // Every setting of the header's form is in there.
  for (const char* key : {"stationer_on", "box_to_box_m",   "box_to_machine_m",
                          "bridge_m",     "slack_percent",  "slack_m",
                          "ready_made_m", "outlets",        "watts",
                          "lead_outlets", "lead_watts",     "rate",
                          "frame_bytes",  "frame_overhead", "program_bytes",
                          "number",       "name",           "room",
                          "timing_unit",  "longest_m",      "boxes",
                          "more",         "table",          "cable_m",
                          "profile",      "address",        "note",
                          "between"}) {
    INFO(key);
    CHECK(example_plan().find(std::string(key) + " = ") != std::string_view::npos);
  }
}

TEST_CASE("what the example says is usual is what is so without it") {
  const auto usual = read_plan("[[segment]]\nmore = 1\n[[segment]]\n", "");
  const auto said = read_plan(
      "[cable]\nbox_to_box_m = 3\nbox_to_machine_m = 1.5\nbridge_m = 10\nslack_percent = 10\n"
      "slack_m = 0.5\n[mains]\noutlets = 2\nwatts = 0\nlead_outlets = 6\nlead_watts = 0\n[line]\n"
      "rate = 115200\nframe_bytes = 512\nframe_overhead = 16\nprogram_bytes = 16384\n"
      "[[segment]]\nnumber = 1\ntiming_unit = true\nlongest_m = 0\nmore = 1\n[[segment]]\n",
      "");
  REQUIRE(usual);
  REQUIRE(said);
  CHECK(*usual == *said);
}

TEST_CASE("numbers that are not said are the lowest that are free") {
  const auto room = read_plan(R"([[segment]]
[[segment]]
number = 1
more = 2
[[segment.station]]
[[segment.station]]
number = 2
[[segment.station]]
[[segment]]
)",
                              "");
  REQUIRE(room);
  CHECK(room->segments[0].number == 2);
  CHECK(room->segments[1].number == 1);
  CHECK(room->segments[2].number == 3);
  std::vector<std::uint32_t> numbers;
  for (const auto& each : room->segments[1].stations) numbers.push_back(each.number);
  CHECK(numbers == std::vector<std::uint32_t>{1, 2, 3, 4, 5});
  CHECK_FALSE(room->bridges_named);
  CHECK(room->bridges == std::vector<PlannedBridge>{{2, 1, 10'000}, {1, 3, 10'000}});
}

TEST_CASE("every complaint names the file and the line") {
  CHECK(why("[room\n").starts_with("mill.toml, line 1: "));
  CHECK(
      why("[room]\nnmae = \"Mill\"\n") ==
      "mill.toml, line 2: there is no setting \"nmae\" in [room]; there are: name, stationer_on.");
  CHECK(why("[lamps]\n").starts_with("mill.toml, line 1: there is no setting \"lamps\""));
  CHECK(why("room = 3\n").starts_with("mill.toml, line 1: write [room] on a line of its own"));
  CHECK(why("").find("there is no [[segment]] in this plan") != std::string::npos);
  CHECK(why("[segment]\n").starts_with("mill.toml, line 1: write [[segment]] on a line"));
  CHECK(why("[[segment]]\nnumber = 128\n") ==
        "mill.toml, line 2: number must be a whole number from 1 to 127.");
  CHECK(why("[[segment]]\nnumber = 3\n[[segment]]\nnumber = 3\n") ==
        "mill.toml, line 4: segment 3 is there twice. Give each its own number.");
  CHECK(why("[[segment]]\n[[segment.station]]\nnumber = 255\n") ==
        "mill.toml, line 3: number must be a whole number from 1 to 254.");
  CHECK(
      why("[[segment]]\n[[segment.station]]\nnumber = 9\n[[segment.station]]\nnumber = 9\n") ==
      "mill.toml, line 5: the number 9 is there twice on segment 1. Give each station its own, or "
      "leave the number out.");
  CHECK(why("[[segment]]\n[[segment.station]]\nname = \"owl\"\n[[segment.station]]\nname = "
            "\"OWL\"\n") ==
        "mill.toml, line 5: another station has the name \"owl\" already. Give each station its "
        "own.");
  CHECK(why("[[segment]]\n[[segment.station]]\nname = \"owl\"\naddress = \"10.0.0.7\"\n"
            "[[segment.station]]\naddress = \"10.0.0.7\"\n") ==
        "mill.toml, line 6: owl has the address \"10.0.0.7\" already. Give each station its own.");
  CHECK(why("[[segment]]\n[[segment.station]]\nname = \"two words\"\n")
            .starts_with("mill.toml, line 3: "));
  CHECK(why("[[segment]]\n[[segment.station]]\naddress = \"somewhere\"\n")
            .starts_with("mill.toml, line 3: "));
  CHECK(why("[[segment]]\n[[segment.station]]\nhardware = \"01:02\"\n")
            .starts_with("mill.toml, line 3: "));
  CHECK(why("[cable]\nslack_m = -1\n[[segment]]\n") ==
        "mill.toml, line 2: slack_m must be a length in metres, such as 3 or 2.5.");
  CHECK(why("[cable]\nslack_m = nan\n[[segment]]\n").starts_with("mill.toml, line 2: slack_m"));
  CHECK(
      why("[cable]\nslack_m = \"much\"\n[[segment]]\n").starts_with("mill.toml, line 2: slack_m"));
  CHECK(why("[cable]\nready_made_m = [2, 0]\n[[segment]]\n") ==
        "mill.toml, line 2: a cable of no length is none; take the 0 out.");
  CHECK(why("[cable]\nready_made_m = 2\n[[segment]]\n").find("is a list of lengths") !=
        std::string::npos);
  CHECK(why("[[segment]]\nboxes = [1]\n").starts_with("mill.toml, line 2: boxes is a list of how"));
  CHECK(why("[[segment]]\nboxes = [1, -2, 1]\n").starts_with("mill.toml, line 2: boxes is a list"));
  CHECK(why("[[segment]]\nboxes = [1, 2, 1]\nbox_to_box_m = [4]\n") ==
        "mill.toml, line 3: between 3 boxes are 2 lengths, not 1.");
  CHECK(why("[[segment]]\n[[bridge]]\n") ==
        "mill.toml, line 2: a bridge needs the two segments it is between: between = [1, 2].");
  CHECK(why("[[segment]]\n[[bridge]]\nbetween = [1, 2]\n") ==
        "mill.toml, line 3: there is no segment 2 in this plan.");
  CHECK(why("[[segment]]\n[[bridge]]\nbetween = [1, -4294967295]\n") ==
        "mill.toml, line 3: there is no segment -4294967295 in this plan.");
  CHECK(why("[[segment]]\n[[bridge]]\nbetween = [1, 1]\n") ==
        "mill.toml, line 3: a bridge joins two different segments.");
  CHECK(why("[room]\nstationer_on = 2\n[[segment]]\n") ==
        "mill.toml, line 2: there is no segment 2 in this plan.");
  CHECK(why("[line]\nrate = 0\n[[segment]]\n").starts_with("mill.toml, line 2: rate must be"));
}

TEST_CASE("a file of everything has an end") {
  std::string text;
  for (std::size_t i = 0; i <= most_planned_segments; ++i) text += "[[segment]]\n";
  CHECK(why(text).find("more than 1000 of [[segment]]") != std::string::npos);
  CHECK(why("[[segment]]\nmore = 10001\n").find("from 0 to 10000") != std::string::npos);
}
