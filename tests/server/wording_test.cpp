#include "server/terminal/wording.h"

#include <cstdlib>
#include <ctime>

#include <catch2/catch.hpp>

#include "fs/text.h"
#include "server/terminal/job_words.h"

using namespace stationer;
using namespace stationer::server;

TEST_CASE("a job that is being printed says its page") {
  print::JobView view;
  CHECK(state_in_words(view) == "waiting");
  view.state = print::JobState::printing;
  CHECK(state_in_words(view) == "printing");
  view.page = 12;
  CHECK(state_in_words(view) == "page 12");
}

TEST_CASE("wording: sizes take at most six characters") {
  CHECK(short_size(0) == "0");
  CHECK(short_size(999) == "999");
  CHECK(short_size(1000) == "1.0K");
  CHECK(short_size(1024) == "1.0K");
  CHECK(short_size(65'536) == "64.0K");
  CHECK(short_size(1'258'291) == "1.2M");
  CHECK(short_size(3ull << 30) == "3.0G");
  CHECK(short_size(5ull << 40) == "5T");
  for (std::uint64_t bytes = 1; bytes < 1ull << 50; bytes = bytes * 3 / 2 + 1) {
    CHECK(short_size(bytes).size() <= 6);
  }
  CHECK(exact_size(0) == "0 bytes");
  CHECK(exact_size(1) == "1 byte");
  CHECK(exact_size(999) == "999 bytes");
  CHECK(exact_size(12'345'678) == "12,345,678 bytes");
}

TEST_CASE("wording: counts, lists, quotes, addresses") {
  CHECK(counted(1, "page") == "1 page");
  CHECK(counted(0, "page") == "0 pages");
  CHECK(counted(2, "copy", "copies") == "2 copies");
  CHECK(listed({}) == "");
  CHECK(listed({"robin"}) == "robin");
  CHECK(listed({"robin", "wren"}) == "robin and wren");
  CHECK(listed({"a", "b", "c"}, "or") == "a, b or c");
  CHECK(as_typed("letter.txt") == "letter.txt");
  CHECK(as_typed("old letter") == "\"old letter\"");
  CHECK(hex(0x1900) == "1900 hex");
  CHECK(hex(0) == "0000 hex");
  CHECK(hex(0xFFFF1900u) == "FFFF1900 hex");
}

TEST_CASE("wording: the prompt takes at most half of the screen") {
  const fs::Path home = fs::Path() / "members" / "robin";
  CHECK(place({}, 80) == "/");
  CHECK(place(home, 80) == "/members/robin");
  CHECK(place(home, 40) == "/members/robin");
  CHECK(place(home, 20) == "../robin");
  CHECK(place(home / "spring tide tables", 40) == "..spring tide tables");
  CHECK(place(home / "spring tide tables", 20) == "..e tables");
  CHECK(place(fs::Path() / "ééééééééééééé", 20) == "..éééééééé");
  for (int columns = 16; columns < 100; ++columns) {
    const fs::Path deep = home / "essays" / "of the last winter" / "drafts";
    CHECK(fs::characters(place(deep, columns)) <= static_cast<std::size_t>(columns / 2));
  }
}

TEST_CASE("wording: what lies where one stands is said without the way there") {
  const fs::Path home = fs::Path() / "members" / "robin";
  CHECK(seen_from(home, home / "letter.txt") == "letter.txt");
  CHECK(seen_from(home, home / "essays" / "mill.txt") == "essays/mill.txt");
  CHECK(seen_from(home, fs::Path() / "public" / "letter.txt") == "/public/letter.txt");
  CHECK(seen_from(home, home) == "/members/robin");
  CHECK(seen_from({}, fs::Path() / "public") == "/public");
  CHECK(seen_from({}, fs::Path()) == "/");
}
