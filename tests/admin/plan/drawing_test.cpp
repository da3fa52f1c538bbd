// A plan on paper: what can be read there is what was planned.
#include "admin/plan/drawing.h"

#include <algorithm>

#include <catch2/catch.hpp>

#include "admin/plan/plan_file.h"
#include "print/pdf_text.h"

using namespace stationer;
using namespace stationer::admin;
namespace {

std::string drawn(std::string_view text) {
  const auto room = read_plan(text, "room.toml");
  REQUIRE(room);
  static const auto fonts = print::Fonts::load();
  REQUIRE(fonts);
  std::string pdf;
  print::Metadata about;
  about.title = "Room plan";
  REQUIRE(draw_plan(Plan(*room), *fonts, print::find_paper("a4").value(), about,
                    [&](std::string_view bytes) {
                      pdf += bytes;
                      return fs::Status();
                    }));
  return pdf;
}

// The text of each page.
std::vector<std::string> pages_of(const std::string& pdf) {
  std::vector<std::string> pages;
  REQUIRE(print::each_page_text(
      [&]() -> fs::Result<fs::Content> {
        return fs::Content(std::make_shared<const std::string>(pdf));
      },
      [&](std::string_view text) -> fs::Status {
        pages.emplace_back(text);
        return {};
      }));
  return pages;
}

bool has(const std::string& text, std::string_view what) {
  return text.find(what) != std::string::npos;
}

}  // namespace

TEST_CASE("the drawing of the mill tells of all that is planned") {
  const auto pages = pages_of(drawn(example_plan()));
  REQUIRE(pages.size() == 4);
  // Overview, with the parts.
  for (const char* each : {"Tidewrack Mill", "11 stations on 2 segments, 1 bridge.",
                           "Segment 1, Stone floor (Mill): 6 stations, 6 boxes, 19 m, Stationer; "
                           "bridges to 2 (14 m)",
                           "4 terminator, one in each end box", "cable, box to machine, 14 m"}) {
    INFO(each);
    CHECK(has(pages[0], each));
  }
  for (const char* each : {"Segment 1, Stone floor (Mill)", "timing", "1 owl", "North table",
                           "5 heron-desk", "6 plover", "to 2", "4 m"}) {
    INFO(each);
    CHECK(has(pages[1], each));
  }
  for (const char* each : {"Segment 2, Loft (Loft)", "1 swift", "to 1"}) {
    INFO(each);
    CHECK(has(pages[2], each));
  }
  CHECK(has(pages[3], "Local codes and licensed practice come first"));
  CHECK(has(pages[3], "A copy for each: all 11 machines"));
  CHECK_FALSE(has(pages[3], "can't be built"));
}

TEST_CASE("what can't be built is said on the first page and on the last") {
  const auto pages =
      pages_of(drawn("[[segment]]\nmore = 8\nboxes = [1, 9, 1]\n[[segment]]\n"
                     "more = 300\n"));
  CHECK(has(pages.front(), "It can't be built so, for 1 reason: see the last pages."));
  CHECK(has(pages.back(), "there are numbers for 254"));
  // A box of many holds what can be shown, and says how many more there are.
  CHECK(has(pages[1], "and 3 more"));
}

TEST_CASE("equal plans give equal drawings, and the largest has a bounded number of sheets") {
  CHECK((drawn(example_plan()) == drawn(example_plan())));
  std::string text;
  for (int i = 0; i < 127; ++i) text += "[[segment]]\nmore = 254\n";
  const auto pages = pages_of(drawn(text));
  CHECK(pages.size() < 127 * 6);
  CHECK(has(pages.back(), "keep the fire extinguisher"));
  // The last station of the last segment is there.
  CHECK(std::any_of(pages.end() - 6, pages.end(),
                    [](const std::string& each) { return has(each, "254"); }));
}
