// How long loading takes: by the arithmetic that the header tells, done here by hand.
#include "admin/plan/loading.h"

#include <catch2/catch.hpp>

#include "admin/plan/plan.h"
#include "admin/plan/plan_file.h"

using namespace stationer;
using namespace stationer::admin;

namespace {

Plan plan_of(std::string_view text) {
  auto room = read_plan(text, "room.toml");
  REQUIRE(room);
  return Plan(*room);
}

}  // namespace

TEST_CASE("eight machines on one bus wait for eight copies, or for one that is sent to all") {
  const Loading found = plan_of(R"([line]
rate = 9600
program_bytes = 16384
[[segment]]
more = 8
)")
                            .loading;
  CHECK(found.frames == 32);          // 16,384 / 512
  CHECK(found.line_bytes == 16'896);  // and 32 times 16
  CHECK(found.copies == 8);
  CHECK(found.bridges == 0);
  CHECK(found.one_millis == 17'600);  // 168,960 bits / 9,600
  CHECK(found.once_millis == 17'600);
  CHECK(found.each_millis == 8 * 17'600);
}

TEST_CASE("the last frame is as long as what is left, and fractions of a millisecond count whole") {
  const Loading found = plan_of(R"([line]
rate = 19200
program_bytes = 1000
frame_bytes = 256
frame_overhead = 10
[[segment]]
more = 3
)")
                            .loading;
  CHECK(found.frames == 4);
  CHECK(found.line_bytes == 1040);
  CHECK(found.one_millis == 542);    // 541.67
  CHECK(found.each_millis == 1625);  // 31,200 bits
}

TEST_CASE("each bridge on the longest way adds the time of a frame") {
  const Loading found = plan_of(R"([room]
stationer_on = 2
[line]
rate = 10000
program_bytes = 1000
frame_bytes = 100
frame_overhead = 0
[[segment]]
more = 1
[[segment]]
[[segment]]
more = 1
[[segment]]
more = 2
)")
                            .loading;
  CHECK(found.copies == 4);
  CHECK(found.bridges == 2);
  CHECK(found.one_millis == 1000);
  CHECK(found.once_millis == 1200);
  CHECK(found.each_millis == 4200);
}

TEST_CASE("a program that is shorter than a frame is passed on as short as it is") {
  const Loading found = plan_of(R"([line]
rate = 1000
program_bytes = 10
frame_overhead = 0
[[segment]]
[[segment]]
more = 1
)")
                            .loading;
  CHECK(found.frames == 1);
  CHECK(found.once_millis == 200);
}

TEST_CASE("machines to which there is no way get nothing, and are not waited for") {
  const Loading found = plan_of(R"([[segment]]
more = 2
[[segment]]
more = 3
[[segment]]
more = 4
[[bridge]]
between = [1, 2]
)")
                            .loading;
  CHECK(found.copies == 5);
  const Loading empty = plan_of("[[segment]]\n").loading;
  CHECK(empty.copies == 0);
  CHECK(empty.each_millis == 0);
  CHECK(empty.once_millis == 0);
}

TEST_CASE("the largest room and the largest program do not overflow") {
  std::string text =
      "[line]\nrate = 1\nframe_bytes = 1\nframe_overhead = 65535\n"
      "program_bytes = 1000000\n";
  for (int i = 0; i < 127; ++i) text += "[[segment]]\nmore = 254\n";
  const Loading found = plan_of(text).loading;
  CHECK(found.one_millis == 655'360'000'000'000);  // a million times 65,536 bytes of 10 bits
  CHECK(found.each_millis > found.one_millis);
}
