// The list that fills the screen, on a screen that does what ECMA-48 says.
#include "server/protocol/chooser.h"

#include <algorithm>
#include <random>

#include <catch2/catch.hpp>

using namespace stationer::server;
using namespace std::string_literals;

namespace {

// As much of a screen as the chooser uses: CUP, ED 2, EL 0, SGR.
struct Glass {
  std::vector<std::string> rows;
  std::size_t row = 0;
  std::size_t column = 0;
  bool scrolled = false;

  Glass(int columns, int lines)
      : rows(static_cast<std::size_t>(lines), std::string(static_cast<std::size_t>(columns), ' ')) {
  }

  void show(std::string_view bytes) {
    for (std::size_t i = 0; i < bytes.size(); ++i) {
      if (bytes[i] != '\x1B') {
        REQUIRE(static_cast<unsigned char>(bytes[i]) >= 0x20);
        REQUIRE(column < rows[row].size());
        rows[row][column++] = bytes[i];
        continue;
      }
      REQUIRE(bytes[++i] == '[');
      const std::size_t start = ++i;
      while (bytes[i] < 0x40) ++i;
      const std::string parameters(bytes.substr(start, i - start));
      switch (bytes[i]) {
        case 'H': {
          const auto semicolon = parameters.find(';');
          row = std::stoul(parameters) - 1;
          column = std::stoul(parameters.substr(semicolon + 1)) - 1;
          REQUIRE(row < rows.size());
          break;
        }
        case 'J':
          REQUIRE(parameters == "2");
          for (auto& each : rows) std::fill(each.begin(), each.end(), ' ');
          break;
        case 'K':
          std::fill(rows[row].begin() + static_cast<std::ptrdiff_t>(column), rows[row].end(), ' ');
          break;
        case 'm': break;
        default: FAIL("unknown sequence " << bytes[i]);
      }
    }
  }
  std::string text() const {
    std::string out;
    for (const auto& each : rows) out += each.substr(0, each.find_last_not_of(' ') + 1) + "\n";
    return out;
  }
};

Chooser::List tides() {
  Chooser::List list;
  list.title = "/programs";
  list.actions = "p";
  list.keys = "Enter opens  q leaves";
  for (const char* name : {"essays/", "flood.bas", "lantern", "tides.bas", "wheel.bas"}) {
    list.rows.push_back({name, "898"});
  }
  return list;
}

constexpr ScreenSize small{24, 5};

}  // namespace

TEST_CASE("chooser: title, rows, keys, and the chosen row marked") {
  Chooser chooser({}, small, tides());
  Glass glass(small.columns, small.rows);
  glass.show(chooser.draw());
  CHECK(glass.text() ==
        "/programs\n"
        ">essays/            898\n"
        " flood.bas          898\n"
        " lantern            898\n"
        "Enter opens  q leaves\n");
}

TEST_CASE("chooser: keys move, by cursor keys and without them, and choose") {
  for (const auto& [down, up] :
       {std::pair("\x1B[B"s, "\x1B[A"s), std::pair("\x1BOB"s, "\x1BOA"s), std::pair("+"s, "-"s)}) {
    Chooser chooser({}, small, tides());
    Glass glass(small.columns, small.rows);
    glass.show(chooser.draw());
    glass.show(chooser.feed(down + down).send);
    CHECK(glass.rows[3].front() == '>');
    CHECK(glass.rows[1].front() == ' ');
    // Below the last row there is the next screen.
    glass.show(chooser.feed(down).send);
    CHECK(glass.text() ==
          "/programs\n"
          ">tides.bas          898\n"
          " wheel.bas          898\n"
          "\n"
          "Enter opens  q leaves\n");
    glass.show(chooser.feed(down + down + down).send);
    CHECK(glass.rows[2].substr(0, 10) == ">wheel.bas");
    const auto step = chooser.feed(up + up + "\rrest");
    glass.show(step.send);
    REQUIRE(step.choice);
    CHECK(step.choice->row == 2);
    CHECK(step.choice->action == Chooser::Choice::enter);
    CHECK(step.used == 2 * up.size() + 1);
  }
}

TEST_CASE("chooser: screens up and down, letters in any case, and leaving") {
  Chooser chooser({}, small, tides());
  CHECK(chooser.feed("\x1B[6~").choice == std::nullopt);
  auto step = chooser.feed("P");
  REQUIRE(step.choice);
  CHECK(step.choice->row == 3);
  CHECK(step.choice->action == 'p');
  step = chooser.feed("<<p");
  REQUIRE(step.choice);
  CHECK(step.choice->row == 0);
  step = chooser.feed(">>p");
  REQUIRE(step.choice);
  CHECK(step.choice->row == 4);
  for (const auto* leave : {"q", "Q", "\x03"}) {
    step = chooser.feed(leave);
    REQUIRE(step.choice);
    CHECK(step.choice->action == Chooser::Choice::leave);
  }
  CHECK(chooser.feed("x\x1B[C\x1B[11~z").send.empty());
}

TEST_CASE("chooser: an empty list can only be left") {
  Chooser::List list = tides();
  list.rows.clear();
  Chooser chooser({}, small, list);
  Glass glass(small.columns, small.rows);
  glass.show(chooser.draw());
  CHECK(glass.rows[1].substr(0, 10) == " (nothing)");
  CHECK_FALSE(chooser.feed("\rp+-<>").choice);
  CHECK(chooser.feed("q").choice);
}

TEST_CASE("chooser: what does not fit is cut, and the right part goes first") {
  Chooser::List list = tides();
  list.rows = {{"a name that is longer than this", "123"},
               {"short", "far too long to stand there"}};
  Chooser chooser({}, small, list);
  Glass glass(small.columns, small.rows);
  glass.show(chooser.draw());
  CHECK(glass.rows[1] == ">a name that is lon 123 ");
  CHECK(glass.rows[2] == " short                  ");
}

TEST_CASE("chooser: a station without small letters is shown capitals") {
  Screen screen;
  screen.capitals = true;
  Chooser chooser(screen, small, tides());
  Glass glass(small.columns, small.rows);
  glass.show(chooser.draw());
  CHECK(glass.rows[2].substr(0, 10) == " FLOOD.BAS");
}

TEST_CASE("chooser: every cut of what is typed does the same") {
  const std::string typed = "+\x1B[B\x1B[6~-\x1BOA\x0C>p";
  Chooser whole({}, small, tides());
  const auto at_once = whole.feed(typed);
  REQUIRE(at_once.choice);
  for (std::size_t cut = 0; cut <= typed.size(); ++cut) {
    Chooser chooser({}, small, tides());
    auto first = chooser.feed(typed.substr(0, cut));
    const auto second = chooser.feed(typed.substr(first.used));
    CHECK(first.send + second.send == at_once.send);
    const auto& choice = first.choice ? first.choice : second.choice;
    REQUIRE(choice);
    CHECK(choice->row == at_once.choice->row);
  }
}

TEST_CASE("chooser: whatever is typed, the screen shows what a fresh drawing would") {
  std::mt19937 random(7);
  constexpr std::string_view keys = "+-<>\x1B[ABO6~5\x0C\x12;9x";
  for (int turn = 0; turn < 300; ++turn) {
    Chooser chooser({}, small, tides(), random() % 7);
    Glass glass(small.columns, small.rows);
    glass.show(chooser.draw());
    for (int i = 0; i < 60; ++i) {
      glass.show(chooser.feed(keys.substr(random() % keys.size(), 1)).send);
    }
    Glass fresh(small.columns, small.rows);
    fresh.show(chooser.draw());
    REQUIRE(glass.text() == fresh.text());
  }
}

TEST_CASE("chooser: where the corner is, from the terminal's own answer") {
  // ECMA-48 §8.3.14: CPR, CSI Pn1 ; Pn2 R.
  CHECK(corner_in("\x1B[24;80R")->rows == 24);
  CHECK(corner_in("\x1B[24;80R")->columns == 80);
  CHECK(corner_in("typed ahead\x1B[A\x1B[25;40Rmore")->columns == 40);
  for (const auto* nothing : {"", "\x1B[", "\x1B[24", "\x1B[24;", "\x1B[24;80", "\x1B[24;80H",
                              "\x1B[;80R", "24;80R", "\x1B[99999999999;1R"}) {
    CHECK_FALSE(corner_in(nothing));
  }
}
