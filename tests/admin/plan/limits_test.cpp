// What can't be built as it is planned, and what is only to be known.
#include "admin/plan/limits.h"

#include <catch2/catch.hpp>

#include "admin/plan/plan.h"
#include "admin/plan/plan_file.h"

using namespace stationer;
using namespace stationer::admin;

namespace {

Plan plan_of(std::string_view text) {
  auto room = read_plan(text, "room.toml");
  INFO((room ? std::string() : room.error().message));
  REQUIRE(room);
  return Plan(*room);
}

// The sentences of what is broken, in lines.
std::string broken(std::string_view text) {
  std::string out;
  for (const Finding& each : plan_of(text).findings) {
    if (each.broken) out += each.sentence + '\n';
  }
  return out;
}

std::string known(std::string_view text) {
  std::string out;
  for (const Finding& each : plan_of(text).findings) {
    if (!each.broken) out += each.sentence + '\n';
  }
  return out;
}

}  // namespace

TEST_CASE("a segment has numbers for 254 stations") {
  CHECK(broken("[[segment]]\nmore = 254\n").empty());
  CHECK(broken("[[segment]]\nname = \"Hall\"\nmore = 256\n") ==
        "Segment 1, Hall has 256 stations; there are numbers for 254. Put 2 of them on another "
        "segment, and join it by a bridge.\n");
  CHECK(plan_of("[[segment]]\nmore = 256\n").room.segments[0].stations.back().number == 0);
}

TEST_CASE("a room has 127 segments") {
  std::string text;
  for (int i = 0; i < 127; ++i) text += "[[segment]]\n";
  CHECK(broken(text).empty());
  CHECK(broken(text + "[[segment]]\n") ==
        "There are 128 segments; 126 bridges join 127 at most, with 32,258 stations. Plan a second "
        "room, with a Stationer of its own.\n");
}

TEST_CASE("boxes that are too few are told, with how many are to be added") {
  CHECK(broken("[[segment]]\nmore = 8\nboxes = [1, 2, 2, 1]\n") ==
        "Segment 1 has 6 sockets for 9 things to plug in, its bridges and its timing unit among "
        "them. Add 2 boxes of 2 sockets, or leave \"boxes\" out to have them reckoned.\n");
  CHECK(broken("[[segment]]\nmore = 8\nboxes = [1, 2, 2, 2, 2, 1]\n").empty());
}

TEST_CASE("lengths have to be as many as there are stretches") {
  CHECK(broken("[[segment]]\nmore = 8\nbox_to_box_m = [1, 2]\n") ==
        "Segment 1 has 6 boxes, so 5 lengths between them; 2 are given. Measure from each box to "
        "the next, or give one length for all.\n");
  CHECK(broken("[[segment]]\nmore = 8\nbox_to_box_m = [1, 2, 3, 4, 5]\n").empty());
}

TEST_CASE("a bus that is longer than it may be is told") {
  const std::string text = "[[segment]]\nmore = 8\nlongest_m = ";
  CHECK(broken(text + "19\n").empty());  // five stretches of 3.8 m
  CHECK(
      broken(text + "18.99\n") ==
      "The bus of segment 1 is 19 m long with its slack; it may be 18.99 m. Move the boxes nearer "
      "to each other, or make two segments of it with a bridge between them.\n");
}

TEST_CASE("bridges that close a ring, and segments that none leads to, are told") {
  const std::string three = "[[segment]]\n[[segment]]\n[[segment]]\n";
  const std::string joined = three + "[[bridge]]\nbetween = [1, 2]\n[[bridge]]\nbetween = [2, 3]\n";
  CHECK(broken(three).empty());
  CHECK(broken(joined).empty());
  CHECK(
      broken(joined + "[[bridge]]\nbetween = [3, 1]\n") ==
      "The bridge between 3 and 1 closes a ring, in which frames could go round for ever. Take it "
      "out: there is another way already.\n");
  CHECK(broken(three + "[[bridge]]\nbetween = [1, 2]\n") ==
        "No bridge leads to segment 3. Add a [[bridge]] between = [1, 3].\n");
  CHECK(broken(three + "[[segment]]\n[[bridge]]\nbetween = [1, 2]\n") ==
        "No bridge leads to segments 3 and 4. Add a [[bridge]] between = [1, 3].\n");
  std::string many = three;
  for (int i = 0; i < 7; ++i) many += "[[segment]]\n";
  CHECK(broken(many + "[[bridge]]\nbetween = [9, 10]\n")
            .find("to segments 2, 3, 4, 5, 6 and 4 more.") != std::string::npos);
}

TEST_CASE("a cable that is longer than any there is is told") {
  const std::string text = "[cable]\nready_made_m = [5, 2]\n[[segment]]\nmore = 2\nbox_to_box_m = ";
  CHECK(broken(text + "4\n").empty());
  CHECK(broken(text + "4.5\n") ==
        "2 cables have to be longer with slack than 5 m, the longest that is to be had. Have one "
        "made to measure and write its length under ready_made_m, or move something nearer.\n");
}

TEST_CASE("a machine that is too much for any lead is told") {
  const std::string text =
      "[mains]\nlead_watts = 2000\n[[segment]]\n[[segment.station]]\n"
      "table = \"the lathe\"\nwatts = ";
  CHECK(broken(text + "2000\n").empty());
  CHECK(
      broken(text + "2001\n") ==
      "A machine at the lathe on segment 1 draws 2001 W; an extension lead may carry 2000 W. Plug "
      "it into a wall outlet by itself, and write outlets = 0 for it.\n");
  CHECK(known(text + "2000\n").find("plates") == std::string::npos);
  CHECK(known("[[segment]]\nmore = 1\n").find("Read the plates") != std::string::npos);
}

TEST_CASE("a bridge between two rooms is told of, for their earths") {
  const std::string text = "[[segment]]\nroom = \"Mill\"\nmore = 1\n[[segment]]\nmore = 1\n";
  CHECK(known(text + "room = \"Mill\"\n").find("joins two rooms") == std::string::npos);
  CHECK(known(text + "room = \"Loft\"\n")
            .find("The bridge between segments 1 and 2 joins two rooms, Mill and Loft, whose mains "
                  "and earths may differ.") != std::string::npos);
}

TEST_CASE("the cautions are said with every plan") {
  const std::string text = plan_text(plan_of("[[segment]]\n"), 80);
  const char* const needed[] = {"Local codes and licensed practice come first",
                                "power supplies",
                                "charge",
                                "earths",
                                "trip",
                                "extension lead"};
  for (const char* const each : needed) {
    INFO(each);
    CHECK(text.find(each) != std::string::npos);
  }
  CHECK(plan_json(plan_of("[[segment]]\n")).at("cautions").as_array().size() == cautions().size());
}
