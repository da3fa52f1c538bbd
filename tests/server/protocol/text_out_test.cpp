#include "server/protocol/text_out.h"

#include <random>

#include <catch2/catch.hpp>

#include "server/protocol/substitute.h"

using namespace stationer::server;
using stationer::print::Charset;
using Lines = std::vector<std::string>;
using Wide = std::vector<std::u32string>;

namespace {

int width(std::u32string_view text) {
  int sum = 0;
  for (const char32_t c : text) sum += cells(c);
  return sum;
}

}  // namespace

TEST_CASE("wrap breaks at spaces and drops those at the break") {
  CHECK(wrap(U"the quick brown fox", 10) == Wide{U"the quick", U"brown fox"});
  CHECK(wrap(U"the quick    brown", 10) == Wide{U"the quick", U"brown"});
  CHECK(wrap(U"exactly ten", 7) == Wide{U"exactly", U"ten"});
  CHECK(wrap(U"", 10) == Wide{U""});
}

TEST_CASE("wrap keeps indents and the spaces of tables") {
  CHECK(wrap(U"  a   b", 10) == Wide{U"  a   b"});
  CHECK(wrap(U"   indented text", 12) == Wide{U"   indented", U"text"});
  CHECK(wrap(U"Name: ", 10) == Wide{U"Name: "});
  CHECK(wrap(U"0123456789     ", 10) == Wide{U"0123456789"});
}

TEST_CASE("wrap cuts a word that no line can hold") {
  CHECK(wrap(U"abcdefghij", 4) == Wide{U"abcd", U"efgh", U"ij"});
  CHECK(wrap(U"ab cdefghij", 4) == Wide{U"ab", U"cdef", U"ghij"});
  CHECK(wrap(U"  abcdefg", 4) == Wide{U"  ab", U"cdef", U"g"});
}

TEST_CASE("wrap counts cells, not characters") {
  CHECK(wrap(U"日本語", 5) == Wide{U"日本", U"語"});
  CHECK(wrap(U"e\u0301e\u0301", 2) == Wide{U"e\u0301e\u0301"});
  CHECK(wrap(U"日", 1) == Wide{U"日"});  // gets ahead even so
}

TEST_CASE("wrap loses nothing but spaces, at any width") {
  const unsigned seed = std::random_device{}();
  CAPTURE(seed);
  std::mt19937 random(seed);
  for (int round = 0; round < 2000; ++round) {
    std::u32string text;
    for (auto i = random() % 120; i > 0; --i) {
      text += random() % 4 == 0 ? U' ' : static_cast<char32_t>(U'a' + random() % 26);
    }
    const int columns = 1 + static_cast<int>(random() % 40);
    std::u32string kept;
    for (const auto& line : wrap(text, columns)) {
      REQUIRE(width(line) <= columns);
      kept += line;
    }
    std::erase(text, U' ');
    std::erase(kept, U' ');
    REQUIRE(kept == text);
  }
}

TEST_CASE("a paragraph of a million characters is wrapped in no time") {
  const std::u32string text(1'000'000, U'x');
  CHECK(wrap(text, 39).size() == 25642);  // 1,000,000 / 39, rounded up
}

TEST_CASE("text out: lines, tabs and line ends") {
  const TextOut out({Charset::ascii, false, 40, LineEnding::cr_lf});
  CHECK(out.lines("one\r\ntwo\n\nthree") == Lines{"one", "two", "", "three"});
  CHECK(out.lines("a\tb\n1234567\t8\n\tx") == Lines{"a       b", "1234567 8", "        x"});
  CHECK(out.lines("").empty());
  CHECK(out.lines("page one\fpage two") == Lines{"page one", "page two"});
  CHECK(out.text("one\ntwo\n") == "one\r\ntwo\r\n");
  CHECK(out.text("Name: ") == "Name: ");
  CHECK(out.text("") == "");
  CHECK(out.text("\n") == "\r\n");
  CHECK(TextOut({Charset::ascii, false, 40, LineEnding::cr}).text("a\nb\n") == "a\rb\r");
  CHECK(TextOut({Charset::ascii, false, 40, LineEnding::lf}).text("a\nb\n") == "a\nb\n");
}

TEST_CASE("text out: the last column stays free, and widths have bounds") {
  const std::string forty(40, 'x');
  CHECK(TextOut({Charset::ascii, false, 40}).lines(forty) == Lines{std::string(39, 'x'), "x"});
  CHECK(TextOut({Charset::ascii, false, 0}).lines(forty)[0].size() == 15);
  CHECK(TextOut({Charset::ascii, false, -5}).lines(forty)[0].size() == 15);
  CHECK(TextOut({Charset::ascii, false, 65535}).lines(std::string(300, 'x'))[0].size() == 254);
}

TEST_CASE("text out: a name cannot play tricks with the screen") {
  const TextOut out({Charset::ascii});
  CHECK(out.text("a\x1B[2Jb\x07\x08"
                 "c\x7F") == "a?[2Jb??c?");
  CHECK(out.text("\xC2\x9B"
                 "2J\xFF\xC3") == "?2J??");  // C1 CSI; malformed UTF-8
}

TEST_CASE("text out: columns are counted as the station will see them") {
  // 39 cells either way: the accent costs nothing where it is dropped, and nothing where it is
  // shown.
  const std::string accents = "e\xCC\x81" + std::string(38, 'x');
  CHECK(TextOut({Charset::ascii, false, 40}).lines(accents).size() == 1);
  CHECK(TextOut({Charset::utf_8, false, 40}).lines(accents).size() == 1);
}

TEST_CASE("the pager asks after a screenful, leaving a row for its question") {
  Pager pager(4);
  CHECK_FALSE(pager.line());
  CHECK_FALSE(pager.line());
  CHECK(pager.line());
  CHECK_FALSE(pager.line());
  pager.restart();
  CHECK_FALSE(pager.line());
  CHECK_FALSE(pager.line());
  CHECK(pager.line());
  for (const int rows : {-1, 0, 1}) {
    Pager never(rows);
    for (int i = 0; i < 1000; ++i) REQUIRE_FALSE(never.line());
  }
  Pager two(2);
  CHECK(two.line());
}
