#include "print/pdf_content.h"

#include <random>
#include <sstream>

#include "print/paper.h"
#include "tests/print/printing.h"

using namespace stationer;
using namespace stationer::print;
using stationer::test::cells;
using stationer::test::fonts;

namespace {

constexpr CellSize ten_pitch = {inches(1, 10), inches(1, 6)};

struct Written {
  std::string content;
  std::uint64_t missing;
};

Written write(const Page& page) {
  PdfFonts used(fonts());
  PdfContent content(used, nullptr, find_paper("letter").value());
  std::string text(content.write(page));
  return {text, content.missing()};
}

// Where the strings of such content stand, in u from the top left corner of letter paper, by the
// operators' definitions: ISO 32000-1 tables 108 and 109. None of them has a blank or is slanted.
std::vector<std::pair<Units, Units>> places(const std::string& content) {
  std::vector<std::pair<Units, Units>> out;
  std::vector<double> operands;
  double x = 0;
  double y = 0;
  double leading = 0;
  std::istringstream in(content);
  for (std::string word; in >> word;) {
    if (word == "Td") {
      x += operands.at(0);
      y += operands.at(1);
    }
    if (word == "TL") leading = operands.at(0);
    if (word.ends_with(")'")) y -= leading;
    if (word.starts_with('(')) {
      out.emplace_back(std::lround(x * units_per_point), std::lround((792 - y) * units_per_point));
    }
    if (word.find_first_not_of("-.0123456789") == std::string::npos) {
      operands.push_back(std::stod(word));
    } else {
      operands.clear();
    }
  }
  return out;
}

}  // namespace

TEST_CASE("a line is one string at its place, blanks and all") {
  Page page;
  page.add_run(432, 280, ten_pitch, cells(U"  a  b"));
  page.add_run(432, 640, ten_pitch, cells(U"c"));
  page.add_run(432, 1360, ten_pitch, cells(U"d"));
  // In points from the bottom of 792: 14.4 and 792 - 280/30, then 12 down, then 24.
  CHECK(write(page).content ==
        "BT\n14.4 782.6667 Td\n12 TL\n/R 11.157 Tf\n107.1985 Tz\n(  a  b)Tj\n"
        "(c)'\n0 -24 Td\n(d)Tj\nET\n");
}

TEST_CASE("lines of any height stand at their places") {
  std::mt19937 random(24);
  for (int round = 0; round < 200; ++round) {
    constexpr Units steps[] = {240, 270, 360, 720};
    Page page;
    std::vector<std::pair<Units, Units>> expected;
    Units baseline = 0;
    for (int line = 0; line < 20; ++line) {
      const Units x = random() % 4 == 0 ? 432 : 216;
      baseline += steps[random() % 4];
      page.add_run(x, baseline, {216, steps[random() % 4]}, cells(U"line"));
      expected.emplace_back(x, baseline);
    }
    CHECK(places(write(page).content) == expected);
  }
}

TEST_CASE("what has a meaning in a string is escaped") {
  Page page;
  page.add_run(0, 280, ten_pitch, cells(U"(a)\\"));
  CHECK_THAT(write(page).content, Catch::Contains("(\\(a\\)\\\\)Tj"));
}

TEST_CASE("runs in any order are written from top to bottom and left to right") {
  Page page;
  page.add_run(432, 640, ten_pitch, cells(U"third"));
  page.add_run(4320, 280, ten_pitch, cells(U"second"));
  page.add_run(432, 280, ten_pitch, cells(U"first"));
  const std::string content = write(page).content;
  CHECK(content.find("first") < content.find("second"));
  CHECK(content.find("second") < content.find("third"));
  CHECK_THAT(content,
             Catch::Contains("129.6 0 Td\n(second)") && Catch::Contains("-129.6 -12 Td\n(third)"));
}

TEST_CASE("bold changes the face within the line and doesn't move") {
  Page page;
  std::vector<Cell> line = cells(U"to ");
  const std::vector<Cell> bold = cells(U"be", Style::bold);
  line.insert(line.end(), bold.begin(), bold.end());
  line.push_back({U'.', Style::plain});
  page.add_run(0, 280, ten_pitch, line);
  CHECK_THAT(write(page).content,
             Catch::Contains("(to )Tj\n/B 11.157 Tf\n(be)Tj\n/R 11.157 Tf\n(.)Tj\nET"));
}

TEST_CASE("italic slants the text matrix and comes back") {
  Page page;
  std::vector<Cell> line = cells(U"a");
  line.push_back({U'b', Style::italic});
  line.push_back({U'c', Style::plain});
  page.add_run(216, 280, ten_pitch, line);
  // The slant turns about a point 742/2048 em up: 0.1944 x 0.3623 x 11.157 = 0.7858 to the left.
  CHECK_THAT(
      write(page).content,
      Catch::Contains(
          "(a)Tj\n1 0 0.1944 1 13.6142 782.6667 Tm\n(b)Tj\n1 0 0 1 21.6 782.6667 Tm\n(c)Tj"));
}

TEST_CASE("glyphs are as wide as the pitch, and fitted to the line") {
  struct Case {
    Units pitch;
    Units height;
  };
  for (const Case& one : {Case{inches(1, 10), inches(1, 6)}, Case{inches(1, 12), inches(1, 6)},
                          Case{inches(7, 120), inches(1, 6)}, Case{inches(1, 10), inches(1, 8)},
                          Case{inches(7, 120), inches(1, 8)}, Case{inches(1, 5), inches(1, 6)}}) {
    Page page;
    page.add_run(0, 280, {one.pitch, one.height}, cells(U"x"));
    const std::string content = write(page).content;
    double em = 0;
    double stretch = 100;
    REQUIRE(std::sscanf(content.c_str() + content.find("/R "), "/R %lf Tf\n%lf Tz", &em,
                        &stretch) >= 1);
    CAPTURE(one.pitch, one.height, em, stretch);
    // Over 160 columns the error stays below a hundredth of a unit.
    CHECK(em * 0.602 * stretch / 100 * units_per_point == Approx(one.pitch).margin(0.01 / 160));
    CHECK(em * 1.188 * units_per_point >= one.height - 0.02);   // box drawing joins
    CHECK(em * 0.968 * units_per_point <= one.height * 0.901);  // letters don't touch
  }
}

TEST_CASE("rules and marks are shapes, not text") {
  Page page;
  page.add_run(216, 280, ten_pitch, cells(U"W"));
  page.add_mark({216, 280, ten_pitch, {U'M', Style::plain}});
  page.add_rule({216, 310, 216, 15});
  const std::string content = write(page).content;
  CHECK_THAT(content, Catch::Contains("7.2 781.1667 7.2 0.5 re\nf\n"));
  CHECK_THAT(content, Catch::Contains("q 11.9601 0 0 11.157 7.2 782.6667 cm /R48 Do Q\n"));
  CHECK_THAT(content, !Catch::Contains("(M"));
  CHECK(fonts().regular.glyph(U'M') == 48);
}

TEST_CASE("characters beyond ASCII have codes of two bytes, in the order they come") {
  Page page;
  page.add_run(0, 280, ten_pitch, cells(U"é€é"));
  CHECK_THAT(write(page).content, Catch::Contains("(\x80\x01\x80\x02\x80\x01)Tj"));
}

TEST_CASE("characters the font lacks are counted and keep codes of their own") {
  Page page;
  page.add_run(0, 280, ten_pitch, cells(U"漢字漢"));
  const Written written = write(page);
  CHECK(written.missing == 3);
  CHECK_THAT(written.content, Catch::Contains("(\x80\x01\x80\x02\x80\x01)Tj"));
}

TEST_CASE("what is no character is shown as the replacement character") {
  Page page;
  page.add_run(0, 280, ten_pitch,
               cells(std::u32string{U'\x01', 0xD800, 0x110000, 0xFEFF, 0xFFFE, 0x9B}));
  std::string expected = "(";
  for (int i = 0; i < 6; ++i) expected += std::string("\x80\0", 2);
  CHECK_THAT(write(page).content, Catch::Contains(expected + ")Tj"));
  CHECK(write(page).missing == 0);
}

TEST_CASE("more characters than there are codes end up as the replacement character") {
  PdfFonts used(fonts());
  PdfContent content(used, nullptr, find_paper("letter").value());
  std::string last;
  for (char32_t character = 0x10000; character < 0x10000 + 40'000; character += 100) {
    Page page;
    std::vector<Cell> line;
    for (char32_t i = 0; i < 100; ++i) line.push_back({character + i, Style::plain});
    page.add_run(0, 280, ten_pitch, line);
    last = content.write(page);
  }
  CHECK_THAT(last, Catch::Contains(std::string("(\x80\0\x80\0\x80\0", 7)));
}
