#include "server/bootstrap/line_by_line.h"

#include <catch2/catch.hpp>

#include "tests/support/transfer_line.h"

using namespace stationer;
using namespace stationer::server;
using namespace stationer::tests;
using namespace std::chrono_literals;

namespace {

struct Sending {
  LineByLine sender{LineByLine::Options{}};
  Player player;

  explicit Sending(std::string bytes) : player(sender, {{{}, std::move(bytes)}}) { player.begin(); }
  // What comes at once for what the machine says.
  std::string hear(std::string_view said) {
    player.hear(said);
    return player.take_sent();
  }
  std::string sleep(std::chrono::milliseconds time) {
    player.sleep(time);
    return player.take_sent();
  }
  bool done() const { return sender.outcome() && sender.outcome()->done; }
  std::string why() const { return sender.outcome() ? sender.outcome()->why : "not over"; }
};

const std::string twenty = "abcdefghijklmnopqrst";
const std::string first = LineByLine::line(1, "abcdefghijklmnop") + "\r\n";
const std::string second = LineByLine::line(2, "qrst") + "\r\n";

}  // namespace

TEST_CASE("line by line: a line has its bytes and their check") {
  // Worked out by hand: ((1 * 3 + 0x41) * 3 + 0x42) mod 9973 = 270 = 010E.
  CHECK(LineByLine::line(1, "AB") == "4142010E");
  CHECK(LineByLine::line(2, "AB") != LineByLine::line(1, "AB"));
  CHECK(LineByLine::line(1, "BA").substr(4) != "010E");
  CHECK(LineByLine::line(9999, std::string(16, '\xFF')).size() == 36);
}

TEST_CASE("line by line: each line goes when it is wanted") {
  Sending sending(twenty);
  CHECK(sending.sleep(1s).empty());
  CHECK(sending.hear("WANT 1\r\n") == first);
  CHECK(sending.hear(first + "want  2 \r") == second);  // with an echo, and small letters
  CHECK(sending.hear("? WANT 3\n") == "Z\r\n");
  CHECK(sending.hear("GOT 2\n").empty());
  CHECK(sending.done());
}

TEST_CASE("line by line: what the machine says may come in any pieces, with bit 8 set") {
  for (std::size_t cut = 0; cut <= 8; ++cut) {
    Sending sending(twenty);
    std::string said = "WANT 1\r\n";
    for (char& c : said) c = static_cast<char>(c | 0x80);
    const std::string early = sending.hear(said.substr(0, cut));
    CHECK(early + sending.hear(said.substr(cut)) == first);
  }
}

TEST_CASE("line by line: no bytes are an end at once") {
  Sending sending("");
  CHECK(sending.hear("WANT 1\r") == "Z\r\n");
  sending.hear("GOT 0\r");
  CHECK(sending.done());
}

TEST_CASE("line by line: a refused line goes again after a moment of silence") {
  Sending sending(twenty);
  CHECK(sending.hear("WANT 1\r") == first);
  CHECK(sending.hear("WANT 2\r") == second);
  CHECK(sending.hear("WANT 2\r").empty());
  CHECK(sending.sleep(499ms).empty());
  CHECK(sending.sleep(1ms) == second);
  CHECK(sending.hear("WANT 3\r") == "Z\r\n");
}

TEST_CASE("line by line: answers to what came before the file do not double the lines") {
  Sending sending(twenty);
  CHECK(sending.hear("WANT 1\rWANT 1\rWANT 1\r") == first);
  CHECK(sending.sleep(400ms).empty());
  CHECK(sending.hear("WANT 2\r") == second);
  CHECK(sending.sleep(10s).empty());
}

TEST_CASE("line by line: a number that the line changed leads back to the line that is wanted") {
  Sending sending(std::string(40, 'a'));
  sending.hear("WANT 1\r");
  CHECK(sending.hear("WANT 2\r") == LineByLine::line(2, std::string(16, 'a')) + "\r\n");  // not so
  CHECK(sending.hear("WANT 1\r").empty());
  CHECK(sending.sleep(500ms) == LineByLine::line(1, std::string(16, 'a')) + "\r\n");
  sending.hear("WANT 2\r");
  CHECK(sending.sleep(500ms) == LineByLine::line(2, std::string(16, 'a')) + "\r\n");
  CHECK(sending.hear("WANT 3\r") == LineByLine::line(3, std::string(8, 'a')) + "\r\n");
}

TEST_CASE("line by line: while the first line is refused, other line ends are tried") {
  Sending sending(twenty);
  sending.hear("WANT 1\r");
  const std::string bare = first.substr(0, first.size() - 2);
  sending.hear("WANT 1\r");
  CHECK(sending.sleep(500ms) == bare + "\r");
  sending.hear("WANT 1\r");
  CHECK(sending.sleep(500ms) == bare + "\n");
  CHECK(sending.hear("WANT 2\r") == second.substr(0, second.size() - 2) + "\n");
}

TEST_CASE("line by line: it is said what seems to be wrong") {
  Sending silent("a");
  silent.sleep(601s);
  CHECK(silent.why() == "The machine did not ask for a line. Does its program run?");
  Sending refusing(twenty);
  refusing.hear("WANT 1\r");
  for (int i = 0; i < 10; ++i) {
    refusing.hear("WANT 1\r");
    refusing.sleep(500ms);
  }
  CHECK(refusing.why().starts_with("The machine refuses the first line each time"));
  Sending bad(twenty);
  bad.hear("WANT 1\rWANT 2\r");
  bad.sleep(201s);
  CHECK(bad.why() == "The line is too bad: the machine refused the same line 9 times.");
  Sending stopped(twenty);
  stopped.hear("\x03");
  CHECK(stopped.why() == "You broke it off.");
  CarriedFile large;
  large.facts.size = LineByLine::most_bytes + 1;
  LineByLine sender(LineByLine::Options{});
  Player player(sender, {large});
  player.begin();
  CHECK(sender.outcome()->why == "That is too much to go line by line: 128K at most.");
}

TEST_CASE("line by line: a machine that has every line and is silent then has the file") {
  Sending sending(twenty);
  sending.hear("WANT 1\rWANT 2\rWANT 3\r");
  CHECK(sending.sleep(20s) == "Z\r\n");
  CHECK(sending.sleep(20s) == "Z\r\n");
  sending.sleep(20s);
  CHECK(sending.done());
}

TEST_CASE("line by line: rubbish without end is let go by") {
  Sending sending(twenty);
  CHECK(sending.hear(std::string(100'000, 'x')).empty());
  CHECK(sending.hear(" WANT 1\r") == first);
  CHECK(sending.hear("WANT\rWANT x\rWANT 2x\rWANT 99999\rWANT 0\r").empty());
}

TEST_CASE("line by line: whatever comes, no more than the file goes and it comes to an end") {
  std::mt19937 random(1);
  for (int round = 0; round < 2000; ++round) {
    Sending sending(random_bytes(random, random() % 100));
    for (int i = 0; i < 60 && !sending.sender.outcome(); ++i) {
      std::string said = random() % 3 == 0 ? random_bytes(random, random() % 20)
                                           : "WANT " + std::to_string(random() % 9) + "\r";
      if (random() % 8 == 0) said = "GOT 3\r";
      CHECK(sending.hear(said).size() < 1000);
      sending.sleep(std::chrono::milliseconds(random() % 2000));
    }
    sending.sleep(1h);
    CHECK(sending.sender.outcome());
  }
}
