// Text in cells.
#include <catch2/catch.hpp>

#include "admin/console/grid.h"
#include "admin/console/text_field.h"

using namespace stationer::admin::console;

TEST_CASE("text is put into cells, and what does not fit ends with a sign") {
  Grid grid(10, 2);
  CHECK(grid.put(0, 0, "tides.bas") == 9);
  CHECK(grid.line(0) == "tides.bas");
  CHECK(grid.put(2, 1, "a long name") == 8);
  CHECK(grid.line(1) == "  a long …");
  CHECK(grid.put(0, 0, "flood", Look::plain, 3) == 3);
  CHECK(grid.line(0) == "fl…es.bas");
  CHECK(grid.put_right(0, 1, "12", Look::plain, 10) == 2);
  CHECK(grid.line(1) == "  a long12");
  CHECK(grid.put(10, 0, "x") == 0);
  CHECK(grid.put(0, 2, "x") == 0);
  CHECK(grid.put(-1, 0, "x") == 0);
}

TEST_CASE("wide characters take two cells, and no half of one stays") {
  Grid grid(6, 1);
  CHECK(width_of("漢字") == 4);
  CHECK(grid.put(0, 0, "漢字x") == 5);
  CHECK(grid.at(1, 0).character == 0);
  CHECK(grid.line(0) == "漢字x");
  grid.put(1, 0, "a");
  CHECK(grid.line(0) == " a字x");
  grid.put(2, 0, "b");
  CHECK(grid.line(0) == " ab x");
  // One that would be cut in two is left out whole.
  CHECK(grid.put(0, 0, "a漢字漢", Look::plain, 5) == 5);
  CHECK(grid.line(0) == "a漢 …");
  // At the very edge.
  Grid narrow(1, 1);
  narrow.put(0, 0, "漢");
  CHECK(narrow.line(0) == "…");
}

TEST_CASE("marks stand over the letter before them") {
  Grid grid(4, 1);
  CHECK(grid.put(0, 0, "e\u0301x") == 2);
  CHECK(grid.at(0, 0).mark == 0x301);
  CHECK(grid.line(0) == "e\u0301x");
  CHECK(grid.put(0, 0, "\u0301") == 0);
}

TEST_CASE("nothing that could steer the terminal reaches a cell") {
  Grid grid(20, 1);
  grid.put(0, 0, "a\x1b[2Jb\x07\u009b1m\u202ec\x7f\n");
  for (int x = 0; x < grid.columns(); ++x) {
    const char32_t c = grid.at(x, 0).character;
    CHECK((c >= 0x20 && c != 0x7F && !(c >= 0x80 && c < 0xA0) && c != 0x202E));
  }
  Grid other(20, 1);
  other.put(0, 0, "not \xff UTF-8");
  CHECK(other.line(0) == "?");
}

TEST_CASE("a line that is typed takes what a line takes, and shows its cursor") {
  TextField field;
  for (const char32_t c : std::u32string(U"flod")) field.key(typed(c));
  field.key({Key::Name::left});
  field.key(typed('o'));
  CHECK(field.text() == "flood");
  field.key({Key::Name::home});
  field.key({Key::Name::remove});
  CHECK(field.text() == "lood");
  field.key({Key::Name::end});
  field.key({Key::Name::backspace});
  CHECK(field.text() == "loo");
  field.key(typed(0x1B));
  field.key(typed(0x202E));
  CHECK(field.text() == "loo");
  CHECK_FALSE(field.key({Key::Name::up}));
  field.key({Key::Name::clear});
  CHECK(field.empty());
  field.set(std::string(1000, 'x'));
  for (int width = 1; width < 30; ++width) {
    Grid grid(30, 1);
    field.draw(grid, 0, 0, width, true);
    REQUIRE(grid.cursor);
    CHECK(grid.cursor->x < width);
  }
  for (int i = 0; i < 100; ++i) field.key(typed('y'));
  CHECK(field.text().size() == 1000);  // there was more in it than can be typed
}
