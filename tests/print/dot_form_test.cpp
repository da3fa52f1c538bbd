#include "print/dot_form.h"

#include <vector>

using namespace stationer::print;

namespace {

constexpr Units line = 360;

// 66 lines in the middle of a sheet of 25,256 u, as on A4.
DotForm on_a4() {
  return DotForm({25'256, 748, 66 * line, 0, line});
}

}  // namespace

TEST_CASE("a form stands where the sheet's layout has it") {
  CHECK(on_a4().top() == 748);
}

TEST_CASE("a longer form moves up on the sheet as far as it must") {
  DotForm form = on_a4();
  REQUIRE(form.set_length(70 * line));  // 25,200 u
  CHECK(form.top() == 56);
  CHECK(form.move(69 * line) == 0);
  CHECK(form.move(line) == 1);
  CHECK(form.y() == 0);
}

TEST_CASE("a form longer than the sheet begins at its edge and goes on on the next") {
  DotForm form = on_a4();
  REQUIRE(form.set_length(72 * line));  // 25,920 u: 664 more than the sheet
  CHECK(form.top() == 0);
  CHECK(form.move(25'200) == 0);
  CHECK(form.move(line) == 1);
  CHECK(form.y() == 304);
  CHECK(form.move(line) == 1);  // the form's end
  CHECK(form.y() == 0);
}

TEST_CASE("a shorter form leaves the rest of the sheet free") {
  DotForm form = on_a4();
  REQUIRE(form.set_length(6 * line));
  CHECK(form.top() == 748);
  CHECK(form.move(6 * line) == 1);
  CHECK(form.y() == 0);
}

TEST_CASE("a sheet on which printing has begun keeps its place") {
  DotForm form = on_a4();
  form.move(line);
  REQUIRE(form.set_length(70 * line));
  CHECK(form.top() == 748);
  form.begin_form();
  CHECK(form.top() == 56);
}

TEST_CASE("a form begun further down ends with the sheet") {
  DotForm form = on_a4();
  form.move(10 * line);
  form.reset();
  CHECK(form.move(58 * line) == 0);  // to 24,480: 28 more to the sheet's end
  CHECK(form.move(line) == 1);
}

TEST_CASE("paper that moves far ends many pages") {
  DotForm form = on_a4();
  REQUIRE(form.set_length(10));
  CHECK(form.move(2550) == 255);
}

TEST_CASE("margins and skips leave something to print on") {
  DotForm form = on_a4();
  CHECK(!form.set_skip(66 * line));
  CHECK(form.set_skip(65 * line));
  CHECK(!form.set_margins(line, line));
  CHECK(!form.set_margins(0, 67 * line));
  REQUIRE(form.set_margins(2 * line, 4 * line));
  CHECK(form.y() == 2 * line);
  CHECK(!form.set_skip(64 * line));
  CHECK(form.move(2 * line) == 1);
  CHECK(form.y() == 2 * line);
}
