#include "print/strikes.h"

#include "tests/print/pages.h"

using namespace stationer::print;
using namespace stationer::test;

namespace {

constexpr Units left = 1080;
constexpr CellSize pica = {216, 360};
constexpr CellSize condensed = {126, 360};

// A sheet, and the place on it where the next characters go.
struct Sheet {
  Strikes strikes{left};
  Units baseline = 500;

  void type(Units x, std::u32string_view text, CellSize size = pica, Style style = Style::plain) {
    for (const char32_t character : text) {
      strikes.strike(x, baseline, size, {character, style});
      x += size.pitch;
    }
  }
  // The page as text, which leaves a blank sheet.
  std::string shown() {
    Page page;
    strikes.give_to(page);
    CHECK(strikes.empty());
    return show(page);
  }
};

}  // namespace

TEST_CASE("what stands on a baseline at one pitch is one run, with its blanks from the left on") {
  Sheet sheet;
  sheet.type(left, U"peg  rent");
  CHECK(sheet.shown() == "run 1080,500 cell 216x360 |peg  rent|\n");
  sheet.type(left + 3 * 216, U"peg");
  sheet.type(left + 9 * 216, U"rent");
  CHECK(sheet.shown() == "run 1080,500 cell 216x360 |   peg   rent|\n");
}

TEST_CASE("the order of striking changes nothing but what is struck over") {
  Sheet sheet;
  sheet.baseline = 860;
  sheet.type(left, U"second");
  sheet.baseline = 500;
  sheet.type(left + 6 * 216, U"line");
  sheet.type(left, U"first");
  CHECK(sheet.shown() ==
        "run 1080,500 cell 216x360 |first line|\nrun 1080,860 cell 216x360 |second|\n");
}

TEST_CASE("a run that stands off the columns begins where it stands") {
  Sheet sheet;
  sheet.type(left, U"on");
  sheet.type(left + 3 * 216 + 50, U"off");
  // 266 u are free: one blank of 216, and the run begins 216 before its first letter.
  CHECK(sheet.shown() == "run 1080,500 cell 216x360 |on|\nrun 1562,500 cell 216x360 | off|\n");
}

TEST_CASE("a gap narrower than a blank still parts words") {
  Sheet sheet;
  sheet.type(left, U"a");
  sheet.type(left + 216 + 100, U"b");
  CHECK(sheet.shown() == "run 1080,500 cell 216x360 |a |\nrun 1396,500 cell 216x360 |b|\n");
  sheet.type(left, U"a");
  sheet.type(left + 216 + 20, U"b");
  CHECK(sheet.shown() == "run 1080,500 cell 216x360 |a|\nrun 1316,500 cell 216x360 |b|\n");
}

TEST_CASE("another pitch is another run, in reading order") {
  Sheet sheet;
  sheet.type(left + 2 * 216 + 3 * 126, U"cd");
  sheet.type(left + 2 * 216, U"xyz", condensed);
  sheet.type(left, U"ab");
  CHECK(sheet.shown() ==
        "run 1080,500 cell 216x360 |ab|\n"
        "run 1512,500 cell 126x360 |xyz|\n"
        "run 1890,500 cell 216x360 |cd|\n");
}

TEST_CASE("the same struck again within a sixtieth of an inch is bold") {
  // print.md section 8, rule 1; 36 u.
  const std::string bold = "run 1080,500 cell 216x360 |peg|\n  style |bbb|\n";
  for (const Units right : {0, 18, 36}) {
    Sheet sheet;
    sheet.type(left, U"peg");
    sheet.type(left + right, U"peg");
    CHECK(sheet.shown() == bold);
  }
  for (const Units down : {10, 12, 36}) {  // 1/216, 1/180, 1/60 inch
    Sheet sheet;
    sheet.type(left, U"peg");
    sheet.baseline += down;
    sheet.type(left, U"peg");
    CHECK(sheet.shown() == bold);
  }
  Sheet sheet;
  sheet.type(left, U"peg");
  sheet.baseline += 37;
  sheet.type(left, U"peg");
  CHECK(sheet.shown() == "run 1080,500 cell 216x360 |peg|\nrun 1080,537 cell 216x360 |peg|\n");
}

TEST_CASE("narrow neighbours are no double strike") {
  Sheet sheet;
  sheet.type(left, U"....", {30, 360});
  CHECK(sheet.shown() == "run 1080,500 cell 30x360 |....|\n");
}

TEST_CASE("underscores underline, in either order, on the baseline or a little below") {
  // 360 / 12 below the baseline, 360 / 24 thick.
  const std::string underlined =
      "run 1080,500 cell 216x360 |low water|\nrule 1080,530 size 1944x15\n";
  Sheet sheet;
  sheet.type(left, U"low water");
  sheet.type(left, U"_________");
  CHECK(sheet.shown() == underlined);
  sheet.type(left, U"_________");
  sheet.type(left, U"low water");
  CHECK(sheet.shown() == underlined);
  sheet.type(left, U"low water");
  sheet.baseline += 20;
  sheet.type(left, U"_________");
  CHECK(sheet.shown() == underlined);
}

TEST_CASE("underscores below nothing are underscores") {
  Sheet sheet;
  sheet.type(left, U"Name: ____");
  CHECK(sheet.shown() == "run 1080,500 cell 216x360 |Name: ____|\n");
}

TEST_CASE("accents make letters; what makes none keeps the last and shows the others") {
  Sheet sheet;
  sheet.type(left, U"cafe", pica, Style::italic);
  sheet.type(left + 3 * 216, U"\u00B4");
  CHECK(sheet.shown() == "run 1080,500 cell 216x360 |café|\n  style |iiii|\n");
  CHECK(sheet.strikes.blots() == 0);
  sheet.type(left, U"ab");
  sheet.type(left, U"x");
  CHECK(sheet.shown() == "run 1080,500 cell 216x360 |xb|\nmark 1080,500 cell 216x360 |a| .\n");
  CHECK(sheet.strikes.blots() == 1);
}

TEST_CASE("a style is that of the strike that is seen") {
  Sheet sheet;
  sheet.type(left, U"_");
  sheet.type(left, U"x", pica, Style::italic);
  CHECK(sheet.shown() == "run 1080,500 cell 216x360 |x|\n  style |i|\nrule 1080,530 size 216x15\n");
}

TEST_CASE("rules that go on in one line are one, whatever order they came in") {
  Sheet sheet;
  for (const Units x : {1080, 1296, 1728, 1512, 1080}) {
    sheet.strikes.underline(x, 500, pica, Ink::black);
  }
  sheet.strikes.underline(3000, 500, pica, Ink::black);
  sheet.strikes.rule({1080, 900, 10, 20});
  CHECK(sheet.shown() ==
        "rule 1080,530 size 864x15\nrule 3000,530 size 216x15\nrule 1080,900 size 10x20\n");
}

TEST_CASE("a sheet takes so much and no more, and says what it lost") {
  Sheet sheet;
  for (std::size_t i = 0; i < Strikes::most + 5; ++i) {
    const auto place = static_cast<Units>(i);
    sheet.strikes.strike(place * 40 % 16'000, place, {6, 360}, {U'x'});
    sheet.strikes.rule({0, place, 1, 1});
  }
  CHECK(sheet.strikes.lost() == 10);
  Page page;
  sheet.strikes.give_to(page);
  std::size_t cells = 0;
  for (const Run& run : page.runs()) cells += run.count;
  CHECK(cells <= 2 * Strikes::most);
  CHECK(page.rules().size() == Strikes::most);
}
