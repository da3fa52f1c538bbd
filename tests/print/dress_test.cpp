#include "print/dress.h"

#include <algorithm>

#include "tests/support/catch.h"

using namespace stationer;
using namespace stationer::print;

namespace {

Paper paper(std::string_view name) {
  return find_paper(name).value();
}

std::size_t count(std::string_view text, std::string_view what) {
  std::size_t found = 0;
  for (std::size_t at = text.find(what); at != text.npos; at = text.find(what, at + 1)) ++found;
  return found;
}

}  // namespace

TEST_CASE("looks go by names") {
  for (const LookName& each : looks()) {
    CHECK(find_look(each.name).value() == each.look);
    CHECK(name_of(each.look) == each.name);
  }
  const auto none = find_look("glossy");
  REQUIRE_FALSE(none);
  CHECK(none.error().message ==
        "There is no look called \"glossy\". Choose one of: plain, dots, fine-dots.");
}

TEST_CASE("paper in no dress isn't drawn") {
  CHECK(draw_paper({}, paper("fanfold-11")).empty());
}

TEST_CASE("edges have two holes to the inch on either side") {
  // Four curves each. 22 on 11 in and 24 on 12 in, along each edge: computed from the trade's half
  // inch.
  Dress edges;
  edges.edges = true;
  CHECK(count(draw_paper(edges, paper("fanfold-11")), " c\n") == 4 * 2 * 22);
  CHECK(count(draw_paper(edges, paper("fanfold-12")), " c\n") == 4 * 2 * 24);
  // The first is a quarter of an inch from the fold and from the edge: 5/64 in are 5.625 points.
  CHECK_THAT(draw_paper(edges, paper("fanfold-11")), Catch::Contains("23.625 774 m\n"));
}

TEST_CASE("bars are half an inch, and lie between the strips") {
  Dress bars;
  bars.bars = true;
  const std::string drawn = draw_paper(bars, paper("fanfold-11"));
  CHECK(count(drawn, " re\n") == 11);
  CHECK_THAT(drawn, Catch::Contains("36 720 612 36 re\n"));
  // A4 ends within one.
  CHECK_THAT(draw_paper(bars, paper("a4")), Catch::Contains("0 0 595.276 13.89 re\n"));
}

TEST_CASE("a dress that doesn't fit the paper is refused with the reason") {
  Dress dress;
  dress.edges = true;
  CHECK(check(dress, paper("fanfold-11")));
  const fs::Status cut = check(dress, paper("a4"));
  REQUIRE_FALSE(cut);
  CHECK(cut.error().message ==
        "The paper a4 (A4, 210 x 297 mm) has no strips with holes, so its edges can't be drawn. "
        "Take fanfold with its strips.");
  dress = {};
  dress.pages_a_sheet = 3;
  CHECK_FALSE(check(dress, paper("a4")));
}

TEST_CASE("one page is its sheet") {
  const SheetPlan sheet = plan_sheet({}, paper("a4"));
  CHECK(sheet.paper == paper("a4"));
  CHECK(sheet.scale == 1);
  REQUIRE(sheet.places.size() == 1);
  CHECK(sheet.places[0].x == 0);
  CHECK(sheet.places[0].y == 0);
}

TEST_CASE("two pages lie beside or below each other on a turned sheet") {
  Dress two;
  two.pages_a_sheet = 2;
  const SheetPlan tall = plan_sheet(two, paper("a4"));
  CHECK(tall.paper.width == paper("a4").height);
  CHECK(tall.scale == Approx(0.7071).margin(0.001));  // A4 to A5
  REQUIRE(tall.places.size() == 2);
  CHECK(tall.places[0].x == Approx(0).margin(0.1));
  CHECK(tall.places[1].x == Approx(841.89 / 2).margin(0.1));
  const SheetPlan wide = plan_sheet(two, paper("fanfold-11-wide"));
  REQUIRE(wide.places.size() == 2);
  CHECK(wide.places[0].x == wide.places[1].x);
  CHECK(wide.places[0].y > wide.places[1].y);
}

TEST_CASE("four pages are read from left to right and from top to bottom, and none overlaps") {
  for (const Paper& each : papers()) {
    Dress four;
    four.pages_a_sheet = 4;
    const SheetPlan sheet = plan_sheet(four, each);
    CHECK(sheet.paper == each);
    CHECK(sheet.scale == Approx(0.5));
    REQUIRE(sheet.places.size() == 4);
    CHECK(sheet.places[0].y == sheet.places[1].y);
    CHECK(sheet.places[0].x < sheet.places[1].x);
    CHECK(sheet.places[0].x == sheet.places[2].x);
    CHECK(sheet.places[0].y > sheet.places[2].y);
  }
}
