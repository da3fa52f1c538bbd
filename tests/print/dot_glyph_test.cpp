#include "print/dot_glyph.h"

#include <algorithm>
#include <set>

#include "tests/print/printing.h"

using namespace stationer::print;
using stationer::test::fonts;

namespace {

constexpr CellSize ten = {inches(1, 10), inches(1, 6)};

std::set<Units> columns(const std::vector<HeadDot>& dots) {
  std::set<Units> out;
  for (const HeadDot& dot : dots) out.insert(dot.x);
  return out;
}
std::set<Units> rows(const std::vector<HeadDot>& dots) {
  std::set<Units> out;
  for (const HeadDot& dot : dots) out.insert(dot.y);
  return out;
}

Units largest_gap(const std::set<Units>& places, Units period) {
  REQUIRE_FALSE(places.empty());
  Units gap = *places.begin() + period - *places.rbegin();
  for (auto at = std::next(places.begin()); at != places.end(); ++at) {
    gap = std::max(gap, *at - *std::prev(at));
  }
  return gap;
}

}  // namespace

TEST_CASE("a head of nine strikes its alphabet: columns of 1/120 inch, rows of 1/72") {
  const DotGlyphs nine(fonts(), PrintHead::nine);
  // An l: a stroke seven rows high with feet. The lowest row stands on the baseline.
  const auto dots = nine.dots(U'l', Style::plain, ten);
  CHECK(dots.size() == 2 + 5 + 3);
  CHECK(rows(dots) == std::set<Units>{15, 45, 75, 105, 135, 165, 195});
  CHECK(columns(dots) == std::set<Units>{63, 99, 135});
}

TEST_CASE("condensed cells have closer columns and dots as large") {
  const DotGlyphs nine(fonts(), PrintHead::nine);
  const auto dots = nine.dots(U'l', Style::plain, {inches(7, 120), inches(1, 6)});
  CHECK(columns(dots) == std::set<Units>{37, 58, 79});
  CHECK(rows(dots).size() == 7);
}

TEST_CASE("cells of double width and height have every dot twice") {
  const DotGlyphs nine(fonts(), PrintHead::nine);
  const auto wide = nine.dots(U'l', Style::plain, {2 * ten.pitch, ten.height});
  CHECK(columns(wide) == std::set<Units>{117, 153, 189, 225, 261, 297});
  const auto high = nine.dots(U'l', Style::plain, {ten.pitch, 2 * ten.height});
  CHECK(rows(high).size() == 14);
  CHECK(*rows(high).begin() == 15);
  const auto small = nine.dots(U'l', Style::plain, {ten.pitch, ten.height / 2});
  CHECK(rows(small).size() == 7);
  CHECK(*rows(small).rbegin() < 100);
}

TEST_CASE("bold is struck again half a dot to the right; italic leans") {
  const DotGlyphs nine(fonts(), PrintHead::nine);
  const auto plain = nine.dots(U'l', Style::plain, ten);
  const auto bold = nine.dots(U'l', Style::bold, ten);
  CHECK(bold.size() == 2 * plain.size());
  for (const HeadDot& dot : plain) {
    CHECK(std::count(bold.begin(), bold.end(), dot) == 1);
    CHECK(std::count(bold.begin(), bold.end(), HeadDot{dot.x + 18, dot.y}) == 1);
  }
  const auto italic = nine.dots(U'l', Style::italic, ten);
  REQUIRE(italic.size() == plain.size());
  CHECK(italic.front().x == plain.front().x + 39);  // a fifth of its height of 195
}

TEST_CASE("letters stay within their cell on either head") {
  for (const PrintHead head : {PrintHead::nine, PrintHead::twenty_four}) {
    const DotGlyphs glyphs(fonts(), head);
    for (const Units pitch : {inches(1, 10), inches(1, 12), inches(7, 120), inches(1, 5)}) {
      for (char32_t character = U'!'; character <= U'~'; ++character) {
        const auto dots = glyphs.dots(character, Style::plain, {pitch, inches(1, 6)});
        CAPTURE(pitch, static_cast<char>(character));
        REQUIRE_FALSE(dots.empty());
        for (const HeadDot& dot : dots) {
          CHECK(dot.x >= 0);
          CHECK(dot.x <= pitch);
          CHECK(dot.y > -100);
          CHECK(dot.y < 290);
        }
      }
    }
    CHECK(glyphs.dots(U' ', Style::plain, ten).empty());
  }
}

TEST_CASE("a head of nine strikes no two dots side by side, also of other alphabets") {
  const DotGlyphs nine(fonts(), PrintHead::nine);
  for (const char32_t character : std::u32string(U"\u03A3\u20AC\u00BD\u2126\u266A\u2022")) {
    const auto dots = nine.dots(character, Style::plain, ten);
    const std::set<HeadDot> all(dots.begin(), dots.end());
    CHECK(dots.size() >= 5);
    for (const HeadDot& dot : dots) CHECK_FALSE(all.contains({dot.x + 18, dot.y}));
  }
}

TEST_CASE("a character that no typeface has is a box") {
  for (const PrintHead head : {PrintHead::nine, PrintHead::twenty_four}) {
    const DotGlyphs glyphs(fonts(), head);
    CHECK_FALSE(glyphs.has(U'\u6F22'));
    CHECK(glyphs.has(U'\u25A1'));
    CHECK(glyphs.dots(U'\u6F22', Style::plain, ten) == glyphs.dots(U'\u25A1', Style::plain, ten));
    CHECK(rows(glyphs.dots(U'\u25A1', Style::plain, ten)).size() > 3);
  }
}

TEST_CASE("box drawing and blocks join with their neighbours") {
  for (const PrintHead head : {PrintHead::nine, PrintHead::twenty_four}) {
    const DotGlyphs glyphs(fonts(), head);
    const Units apart = head == PrintHead::nine ? 36 : 13;
    for (const Units height : {inches(1, 6), inches(1, 8)}) {
      for (const Units pitch : {inches(1, 10), inches(7, 120)}) {
        CAPTURE(height, pitch);
        const CellSize size = {pitch, height};
        const auto shape = [&](char32_t character) {
          return glyphs.dots(character, Style::plain, size);
        };
        for (const char32_t lying : {U'\u2500', U'\u2550', U'\u2588', U'\u253C'}) {
          CHECK(largest_gap(columns(shape(lying)), pitch) <= apart);
        }
        for (const char32_t standing : {U'\u2502', U'\u2551', U'\u2588', U'\u256B'}) {
          CHECK(largest_gap(rows(shape(standing)), height) <= apart);
        }
        CHECK(rows(shape(U'\u2500')).size() < rows(shape(U'\u2550')).size());
        // Corners lie on the lines they join.
        for (const auto& [corner, bar, post] : {std::tuple(U'\u250C', U'\u2500', U'\u2502'),
                                                {U'\u2518', U'\u2500', U'\u2502'},
                                                {U'\u255D', U'\u2550', U'\u2551'},
                                                {U'\u2554', U'\u2550', U'\u2551'}}) {
          std::set<HeadDot> lines;
          for (const char32_t each : {bar, post}) {
            const auto dots = shape(each);
            lines.insert(dots.begin(), dots.end());
          }
          for (const HeadDot& dot : shape(corner)) CHECK(lines.contains(dot));
        }
      }
    }
  }
}

TEST_CASE("shades are a quarter, half and three quarters of the dots") {
  const DotGlyphs nine(fonts(), PrintHead::nine);
  const auto all = nine.dots(U'\u2588', Style::plain, ten).size();
  CHECK(all == 6 * 12);
  CHECK(nine.dots(U'\u2591', Style::plain, ten).size() * 4 == all);
  CHECK(nine.dots(U'\u2592', Style::plain, ten).size() * 2 == all);
  CHECK(nine.dots(U'\u2593', Style::plain, ten).size() * 4 == all * 3);
}

TEST_CASE("cells of no size have no dots") {
  const DotGlyphs nine(fonts(), PrintHead::nine);
  CHECK(nine.dots(U'x', Style::plain, {0, 360}).empty());
  CHECK(nine.dots(U'x', Style::plain, {216, 0}).empty());
}

TEST_CASE("what is unseen has no dots") {
  const DotGlyphs nine(fonts(), PrintHead::nine);
  CHECK(nine.dots(U'x', Style::unseen, ten).empty());
  CHECK(nine.dots(U'x', Style::bold | Style::unseen, ten).empty());
}
