// What a screen can show, told by whoever sits at it.
#include <catch2/catch.hpp>

#include "tests/support/mill.h"

using namespace stationer;
using test::Mill;
using test::Visit;

TEST_CASE("screen: its width, height, letters and characters are chosen for the visit") {
  Mill mill;
  mill.save("/members/robin/caf\u00e9.txt", "The caf\u00e9 by the weir is open until the tide.\n");
  CHECK(mill.answer("screen") == "80 columns, 24 rows, small letters and capitals in ascii.\n");
  CHECK(mill.answer("screen 30 16 capitals") == "30 COLUMNS, 16 ROWS, CAPITALS\nIN ASCII.\n");
  CHECK(mill.answer("show =C3=.txt").find("THERE IS NO") == 0);
  CHECK(mill.answer("show caf=E9=.txt") == "THE CAFE BY THE WEIR IS OPEN\nUNTIL THE TIDE.\n");
  CHECK(mill.answer("screen 60 0 small utf-8") ==
        "60 columns, no stop between screens, small letters and\ncapitals in utf-8.\n");
  CHECK(mill.answer("show caf\u00e9.txt") == "The caf\u00e9 by the weir is open until the tide.\n");
  CHECK(mill.answer("list").find("caf\u00e9.txt") != std::string::npos);
}

TEST_CASE("screen: what it can't be is told, and it stays as it is") {
  Mill mill;
  CHECK(mill.answer("screen 19") == "Columns are from 20 to 255.\n");
  CHECK(mill.answer("screen 40 300") == "Rows are from 0, for no stops, to 255.\n");
  CHECK(mill.answer("screen 40 nonsense").find("nonsense") != std::string::npos);
  CHECK(mill.answer("screen") == "80 columns, 24 rows, small letters and capitals in ascii.\n");
}

TEST_CASE("screen: whoever types their name in capitals is answered in capitals") {
  Mill mill;
  Visit visit(mill, {}, "10.0.0.40");
  visit.types("ROBIN\r");
  CHECK(visit.types("mill-race-robin\r").find("WELCOME, ROBIN.") != std::string::npos);
  CHECK(visit.answer("SCREEN SMALL") ==
        "80 columns, 24 rows, small letters and capitals in ascii.\n");
  Visit other(mill, {}, "10.0.0.41");
  other.types("Robin\r");
  CHECK(other.types("mill-race-robin\r").find("Welcome, robin.") != std::string::npos);
}
