#include "print/paper.h"

#include <set>

#include "print/points.h"

using namespace stationer::print;
using stationer::fs::Code;

namespace {

Paper paper(std::string_view name) {
  return find_paper(name).value();
}

}  // namespace

TEST_CASE("sheets have their published sizes in points") {
  struct Case {
    const char* name;
    const char* width;
    const char* height;
  };
  // ISO 216: A4 is 210 x 297 mm, A5 148 x 210; 1 mm is 72/25.4 points. ASME Y14.1: Letter 8.5 x 11
  // in. The others are sizes of the trade.
  const Case cases[] = {{"a4", "595.2756", "841.8898"},     {"a5", "419.5276", "595.2756"},
                        {"letter", "612", "792"},           {"legal", "612", "1008"},
                        {"fanfold-11", "684", "792"},       {"fanfold-11-torn", "612", "792"},
                        {"fanfold-11-wide", "1071", "792"}, {"fanfold-12", "684", "864"},
                        {"fanfold-12-torn", "612", "864"}};
  std::set<std::string_view> seen;
  for (const Case& one : cases) {
    CAPTURE(one.name);
    CHECK(text_of(points_of_micrometres(paper(one.name).width)) == one.width);
    CHECK(text_of(points_of_micrometres(paper(one.name).height)) == one.height);
    seen.insert(one.name);
  }
  for (const Paper& one : papers()) CHECK(seen.count(one.name) == 1);
}

TEST_CASE("sheets hold the lines and columns that the trade counts on") {
  const Units six = inches(1, 6);
  const Units eight = inches(1, 8);
  CHECK(lines_on(paper("fanfold-11"), six) == 66);
  CHECK(lines_on(paper("fanfold-11"), eight) == 88);
  CHECK(lines_on(paper("fanfold-12"), six) == 72);
  CHECK(lines_on(paper("fanfold-12"), eight) == 96);
  CHECK(lines_on(paper("letter"), six) == 66);
  CHECK(lines_on(paper("legal"), six) == 84);
  CHECK(lines_on(paper("a4"), six) == 70);    // 70.157
  CHECK(lines_on(paper("a4"), eight) == 93);  // 93.54
  CHECK(lines_on(paper("a5"), six) == 49);    // 49.6

  CHECK(columns_on(paper("a4"), inches(1, 10)) == 82);
  CHECK(columns_on(paper("fanfold-11"), inches(1, 10)) == 85);  // between the strips: 8.5 in
  CHECK(columns_on(paper("fanfold-11-torn"), inches(1, 10)) == 85);
  CHECK(columns_on(paper("fanfold-11-wide"), inches(1, 10)) == 138);
  CHECK(columns_on(paper("a4"), inches(7, 120)) == 141);
}

TEST_CASE("an unknown sheet is refused with the names there are") {
  const auto found = find_paper("foolscap");
  REQUIRE(found.has_error());
  CHECK(found.error().code == Code::bad_input);
  CHECK_THAT(found.error().message, Catch::Contains("\"foolscap\""));
  for (const Paper& one : papers()) {
    CHECK_THAT(found.error().message, Catch::Contains(std::string(one.name)));
    CHECK(find_paper(one.name).value() == one);
  }
}
