#include "print/layout.h"

#include <climits>

using namespace stationer::print;
using stationer::fs::Code;

namespace {

Form form(std::string_view paper) {
  Form form;
  form.paper = find_paper(paper).value();
  return form;
}

}  // namespace

TEST_CASE("columns are centred and start at a whole multiple of the pitch") {
  Form a4 = form("a4");
  a4.columns = 80;
  CHECK(lay_out(a4)->left == 1 * 216);  // 8.27 in: 0.13 in left over at either side
  Form fanfold = form("fanfold-11");
  fanfold.columns = 80;
  CHECK(lay_out(fanfold)->left == 7 * 216);  // strip 0.5 in, 0.25 in left over
  Form wide = form("fanfold-11-wide");
  for (const int columns : {132, 136}) {
    wide.columns = columns;
    const Layout layout = lay_out(wide).value();
    CHECK(layout.left % 216 == 0);
    CHECK(layout.left >= inches(1, 2));
    CHECK(layout.column(columns) <= inches(14875 - 500, 1000));
  }
}

TEST_CASE("what isn't said is as much as fits") {
  for (const Paper& paper : papers()) {
    for (const char* pitch : {"5", "6", "10", "12", "15", "17.14", "20"}) {
      for (const char* line : {"6", "8"}) {
        CAPTURE(paper.name, pitch, line);
        Form all;
        all.paper = paper;
        all.pitch = find_pitch(pitch).value();
        all.line = find_line_spacing(line).value();
        const Layout layout = lay_out(all).value();
        CHECK(layout.columns == columns_on(paper, all.pitch));
        CHECK(layout.lines == lines_on(paper, all.line));
        CHECK(layout.left >= units(paper.strip));
        CHECK(layout.column(layout.columns) <= units(paper.width - paper.strip));
        CHECK(layout.top + layout.lines * all.line <= units(paper.height));
      }
    }
  }
}

TEST_CASE("a form shorter than the sheet is centred on it") {
  Form a4 = form("a4");
  a4.lines = 66;
  const Layout layout = lay_out(a4).value();
  CHECK(layout.lines == 66);
  CHECK(layout.top == (units(297'000) - 66 * 360) / 2);
  CHECK(lay_out(form("fanfold-11"))->top == 0);
}

TEST_CASE("baselines leave two ninths of the line below them") {
  const Layout six = lay_out(form("fanfold-11")).value();
  CHECK(six.baseline(0) == 280);
  CHECK(six.baseline(1) == 280 + 360);
  Form narrow = form("fanfold-11");
  narrow.line = inches(1, 8);
  // Seven pins of 1/72 inch: the first baseline of nine-pin printers (ESC/P Reference Manual).
  CHECK(lay_out(narrow)->baseline(0) == inches(7, 72));
}

TEST_CASE("margins that are said are kept") {
  Form with = form("a4");
  with.left = 4;
  with.top = 3;
  const Layout layout = lay_out(with).value();
  CHECK(layout.left == 4 * 216);
  CHECK(layout.top == 3 * 360);
  CHECK(layout.columns == 78);
  CHECK(layout.lines == 67);
}

TEST_CASE("skipped lines at the foot aren't printed on") {
  Form skipping = form("fanfold-11");
  skipping.skip = 6;
  // ESC/P Reference Manual, ESC N: a form of 66 lines with 6 skipped prints 60.
  CHECK(lay_out(skipping)->lines == 60);
  CHECK(lay_out(skipping)->top == 0);
}

TEST_CASE("what doesn't fit is refused with the sheet and the sizes") {
  Form wide = form("a4");
  wide.columns = 132;
  const auto refused = lay_out(wide);
  REQUIRE(refused.has_error());
  CHECK(refused.error().code == Code::bad_input);
  CHECK_THAT(refused.error().message, Catch::Contains("132 columns at 10 to the inch") &&
                                          Catch::Contains("a4") &&
                                          Catch::Contains("fewer columns"));

  Form far = form("a4");
  far.columns = 80;
  far.left = 5;
  CHECK(lay_out(far).has_error());
  Form on_strip = form("fanfold-11");
  on_strip.columns = 10;
  on_strip.left = 2;
  CHECK(lay_out(on_strip).has_error());

  Form long_form = form("letter");
  long_form.lines = 70;
  const auto too_long = lay_out(long_form);
  REQUIRE(too_long.has_error());
  CHECK_THAT(too_long.error().message, Catch::Contains("70 lines") && Catch::Contains("letter"));
  Form low = form("letter");
  low.lines = 66;
  low.top = 1;
  CHECK(lay_out(low).has_error());
  Form all_skipped = form("letter");
  all_skipped.skip = 66;
  CHECK(lay_out(all_skipped).has_error());

  for (const int wild : {-1, 1001, INT_MAX, INT_MIN}) {
    Form form_of = form("a4");
    form_of.columns = wild;
    CHECK(lay_out(form_of).has_error());
    form_of = form("a4");
    form_of.lines = wild;
    CHECK(lay_out(form_of).has_error());
    form_of = form("a4");
    form_of.left = wild;
    CHECK(lay_out(form_of).has_error());
    form_of = form("a4");
    form_of.top = wild;
    CHECK(lay_out(form_of).has_error());
  }
}

TEST_CASE("pitches and line spacings go by the numbers people know them by") {
  CHECK(find_pitch("10").value() == 216);
  CHECK(find_pitch("17.14").value() == 126);
  CHECK(find_line_spacing("8").value() == 270);
  const auto refused = find_pitch("11");
  REQUIRE(refused.has_error());
  CHECK_THAT(refused.error().message, Catch::Contains("5, 6, 10, 12, 15, 17.14, 20"));
}
