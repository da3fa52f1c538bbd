// Texts that a machine records, and lists that fill the screen, as dialogues.
#include <catch2/catch.hpp>

#include "tests/support/mill.h"

using namespace stationer;
using test::Mill;

TEST_CASE("plain: between two Enters nothing but the text goes over the line") {
  Mill mill;
  std::string text;
  for (int i = 0; i < 300; ++i) text += "a line that is recorded\n";
  mill.save("/members/robin/letter.txt", text);
  CHECK(
      mill.types("fetch letter.txt plain\r").find("Have your machine record, then press Enter.") !=
      std::string::npos);
  std::string recorded = mill.types("\r");
  const std::string asked = "Press Enter when it has stopped recording.";
  REQUIRE(recorded.ends_with(asked));
  recorded.resize(recorded.size() - asked.size());
  std::string expected = "\r\n";
  for (int i = 0; i < 300; ++i) expected += "a line that is recorded\r\n";
  CHECK(recorded == expected);
  CHECK(mill.types("\r").find("letter.txt was sent.") != std::string::npos);
  mill.save("/members/robin/program", std::string("\0\1\2", 3));
  CHECK(mill.answer("fetch program plain") == "program is not a text, so it can't go plainly.\n");
}

TEST_CASE("plain: a text that types itself in ends as one that is typed") {
  Mill mill;
  mill.types("save letter.txt plain\r");
  CHECK(mill.types("Dear Wren\rthe wheel turns\r.\r").find("2 lines saved in letter.txt.") !=
        std::string::npos);
  CHECK(mill.read("/members/robin/letter.txt") == "Dear Wren\nthe wheel turns\n");
}

TEST_CASE("choose: asks the screen itself, then goes through the folder") {
  Mill mill;
  mill.answer("folder essays");
  mill.save("/members/robin/essays/one.txt", "the tide\n");
  mill.visit->terminal.typed("choose\r");
  mill.visit->take();
  CHECK(mill.visit->screen.ends_with("\x1B[999;999H\x1B[6n"));
  CHECK(mill.types("\x1B[24;80R").find("essays/") != std::string::npos);
  CHECK(mill.types("+\r").find("one.txt") != std::string::npos);
  CHECK(mill.types("+\r").find("the tide") != std::string::npos);
  mill.types("\r");
  CHECK(mill.types("q").ends_with("/members/robin/essays> "));
}

TEST_CASE("choose: a screen that does not answer is told of list") {
  Mill mill;
  mill.visit->terminal.typed("choose\r");
  mill.visit->take();
  mill.loop.pass(std::chrono::seconds(3));
  mill.visit->terminal.tick(mill.loop.now());
  mill.visit->settle();
  CHECK(mill.visit->screen.find("list shows") != std::string::npos);
}
