#include "server/protocol/dialect.h"

#include <random>

#include <catch2/catch.hpp>

#include "tests/server/protocol/bytes.h"

using namespace stationer::server;
using namespace stationer::tests;
using namespace std::chrono_literals;
using namespace std::string_literals;
using Door = Dialect::Door;

namespace {

const Time start{};

class Log {
 public:
  void add(const std::vector<Dialect::Event>& events) {
    for (const auto& event : events) std::visit([this](const auto& e) { put(e); }, event);
  }
  const std::string& text() const { return text_; }
  std::string data;  // all that was typed
  std::string sent;

 private:
  void put(const Dialect::Known& e) {
    typed_ = false;
    text_ += e.telnet ? "telnet" : "plain";
    text_ += e.echo ? ", we echo\n" : ", no echo\n";
  }
  void put(const Telnet::Data& e) {
    if (typed_) text_.pop_back();
    text_ += (typed_ ? "" : "data ") + readable(e.bytes) + "\n";
    typed_ = true;
    data += e.bytes;
  }
  void put(const Telnet::Send& e) {
    typed_ = false;
    text_ += "send " + readable(e.bytes) + "\n";
    sent += e.bytes;
  }
  template <class Other>
  void put(const Other&) {
    typed_ = false;
    text_ += "event\n";
  }
  std::string text_;
  bool typed_ = false;
};

// A connection and all that came of it.
struct Far {
  explicit Far(Door door) : dialect(door) { log.add(dialect.start()); }
  Far& says(std::string_view bytes) {
    log.add(dialect.feed(bytes, now));
    return *this;
  }
  Far& waits(Time::duration time) {
    now += time;
    // As an adapter would: a tick when it is due, and none otherwise.
    while (dialect.deadline() && *dialect.deadline() <= now) log.add(dialect.tick(now));
    return *this;
  }
  Dialect dialect;
  Log log;
  Time now = start;
};

const std::string question = "send <0D><0A><FF><FB><01><0D><00>    <0D><0A>\n";
const std::string other_offers = "send <FF><FB><03><FF><FD><18><FF><FD><1F>\n";
const std::string all_offers = "send <FF><FB><01><FF><FB><03><FF><FD><18><FF><FD><1F>\n";

}  // namespace

TEST_CASE("dialect: a door that is always Telnet offers at once, any other is silent") {
  CHECK(Far(Door::always).log.text() == "telnet, no echo\n" + all_offers);
  CHECK(Far(Door::never).log.text().empty());
  CHECK(Far(Door::automatic).log.text().empty());
}

TEST_CASE("dialect: a client that negotiates first is Telnet") {
  const auto heard = Far(Door::automatic).says(from_hex("FFFD03")).log.text();
  CHECK(heard == "telnet, no echo\n" + all_offers + "event\n");  // its DO answers our offer
  CHECK(Far(Door::automatic).says("ro").says(from_hex("FFF1")).says("bin\r\n"s).log.text() ==
        "telnet, no echo\n" + all_offers + "data robin<0D>\n");
}

TEST_CASE("dialect: CR LF is asked about, an answer makes it Telnet") {
  for (const char* first : {"0D0A", "0D00"}) {
    Far agrees(Door::automatic);
    agrees.says(from_hex(first)).says(from_hex("FFFD01"));
    CHECK(agrees.log.text() == question + "telnet, we echo\n" + other_offers + "event\n");
    Far refuses(Door::automatic);
    refuses.says(from_hex(first)).says(from_hex("FFFE01"));
    CHECK(refuses.log.text() == question + "telnet, no echo\n" + other_offers + "event\n");
    // Something else first, the answer after.
    Far talks(Door::automatic);
    talks.says(from_hex(first)).says(from_hex("FFFB18")).says(from_hex("FFFD01"));
    CHECK(talks.log.text().find("telnet, no echo\n") < talks.log.text().find("telnet, we echo\n"));
  }
}

TEST_CASE("dialect: no answer within a second is a plain line") {
  CHECK(Far(Door::automatic).says("\r\n").waits(999ms).log.text() == question);
  CHECK(Far(Door::automatic).says("\r\n").waits(1s).log.text() == question + "plain, no echo\n");
  // NUL after CR is padding: a raw keyboard.
  CHECK(Far(Door::automatic).says("\r\0"s).waits(1s).log.text() == question + "plain, we echo\n");
}

TEST_CASE("dialect: CR alone is a raw terminal, LF alone shows its own typing") {
  CHECK(Far(Door::automatic).says("\r").waits(199ms).log.text().empty());
  CHECK(Far(Door::automatic).says("\r").waits(200ms).log.text() == "plain, we echo\n");
  CHECK(Far(Door::automatic).says("\rx").log.text() == "plain, we echo\ndata x\n");
  CHECK(Far(Door::automatic).says("\n").log.text() == "plain, no echo\n");
  // The LF of a slow pair still belongs to its CR.
  CHECK(Far(Door::automatic).says("\r").waits(300ms).says("\nx").log.text() ==
        "plain, we echo\ndata x\n");
}

TEST_CASE("dialect: a plain door never asks, and takes FF for a character") {
  CHECK(Far(Door::never).says("\r\n").log.text() == "plain, no echo\n");
  CHECK(Far(Door::never).says("\r\0"s).log.text() == "plain, we echo\n");
  CHECK(Far(Door::never).says("\xFF\xFD\x01\n").log.text() ==
        "plain, no echo\ndata <FF><FD><01><0D>\n");
}

TEST_CASE("dialect: what was typed before the matter was settled is delivered") {
  CHECK(Far(Door::automatic).says("robin\r").waits(1s).log.text() ==
        "plain, we echo\ndata robin<0D>\n");
  CHECK(Far(Door::automatic).says("robin\r\nsec").says("ret\r\n").waits(1s).log.text() ==
        question + "plain, no echo\ndata robin<0D>secret<0D>\n");
  CHECK(Far(Door::automatic).says("robin\r\nse").says(from_hex("FFFD01") + "cret\r\n").log.text() ==
        question + "telnet, we echo\n" + other_offers + "data robin<0D>se\nevent\ndata cret<0D>\n");
}

TEST_CASE("dialect: an answer that comes late still counts, and only a whole one") {
  Far late(Door::automatic);
  late.says("\r\n").waits(2s).says("he\xFFllo\xFF").waits(1s).says("\xFD\x01x\r\n");
  CHECK(late.log.text() == question + "plain, no echo\ndata he<FF>llo\ntelnet, we echo\n" +
                               other_offers + "event\ndata x<0D>\n");
  // Anything else is typing: the start of an answer is not swallowed, nor is a doubled FF.
  Far plain(Door::automatic);
  plain.says("\r\n").waits(2s).says("\xFF\xFD\x02\xFF\xFF\xFBz\xFF\xFE");
  CHECK(plain.log.data == "\xFF\xFD\x02\xFF\xFF\xFBz");
  plain.waits(9s);
  CHECK(plain.log.data == "\xFF\xFD\x02\xFF\xFF\xFBz\xFF\xFE");
  // After ten seconds even a whole one is typing.
  CHECK(Far(Door::automatic).says("\r\n").waits(10s).says("\xFF\xFD\x01").log.data ==
        "\xFF\xFD\x01");
}

TEST_CASE("dialect: noise is not taken for Telnet") {
  // A line that rests at mark or space while it is connected gives FF or 00.
  CHECK(Far(Door::automatic).says("\xFF\xFF\0\0\r"s).waits(1s).log.text() ==
        "plain, we echo\ndata <FF><FF><00><00><0D>\n");
  CHECK(Far(Door::automatic).says("\xFF").says("r\n").log.text() ==
        "plain, no echo\ndata <FF>r<0D>\n");
}

TEST_CASE("dialect: nothing of the question stays on a plain screen") {
  Far far(Door::automatic);
  far.says("\r\n");
  // However the three bytes are shown: as three signs, with bit 7 cut off, or not at all; and
  // whether NUL is shown as a blank or ignored.
  for (const bool seven_bits : {false, true}) {
    for (const bool shows_controls : {false, true}) {
      std::vector<std::string> lines = {"Press Enter"};
      std::size_t column = lines.back().size();
      for (const char c : far.log.sent) {
        const char shown = seven_bits ? static_cast<char>(c & 0x7F) : c;
        if (shown == '\r') {
          column = 0;
        } else if (shown == '\n') {
          lines.emplace_back();
        } else if (shows_controls || (shown & 0x60) != 0) {
          auto& line = lines.back();
          line.resize(std::max(line.size(), column + 1), ' ');
          line[column++] = shown == '\0' ? ' ' : shown;
        }
      }
      CHECK(lines.front() == "Press Enter");
      for (std::size_t i = 1; i < lines.size(); ++i) {
        CHECK(lines[i].find_first_not_of(' ') == std::string::npos);
      }
      CHECK(column == 0);  // what the session says next begins at the edge
    }
  }
}

TEST_CASE("dialect: output and requests follow what was found") {
  Far telnet(Door::always);
  CHECK(to_hex(telnet.dialect.encode("\xFF\r")) == "FFFF0D00");
  CHECK(to_hex(telnet.dialect.request(Telnet::Side::us, Telnet::Option::binary, true)) == "FFFB00");
  telnet.dialect.urgent();
  CHECK(telnet.says("lost\xFF\xF2kept").log.data == "kept");

  Far plain(Door::never);
  plain.says("\r").waits(1s);
  CHECK(to_hex(plain.dialect.encode("\xFF\r")) == "FF0D");
  CHECK(plain.dialect.request(Telnet::Side::us, Telnet::Option::binary, true).empty());
  plain.dialect.urgent();
  CHECK(plain.says("kept").log.data == "kept");
}

TEST_CASE("invariant 6: what is held while undecided is bounded, and none of it is lost") {
  const std::string flood(10'000, 'x');
  CHECK(Far(Door::automatic).says(flood).log.text() == "plain, no echo\ndata " + flood + "\n");
  CHECK(Far(Door::automatic).says("\r\n" + flood).log.text() ==
        question + "plain, no echo\ndata " + flood + "\n");
  // The answer stands behind the flood, and is heard all the same.
  Far pasted(Door::automatic);
  pasted.says("\r\n" + flood + from_hex("FFFD01"));
  CHECK(pasted.log.text() == question + "plain, no echo\ndata " + flood + "\ntelnet, we echo\n" +
                                 other_offers + "event\n");
}

TEST_CASE("dialect: every byte may come first, alone or before Enter") {
  for (int byte = 0; byte < 256; ++byte) {
    for (const Door door : {Door::automatic, Door::always, Door::never}) {
      Far far(door);
      far.says(std::string(1, static_cast<char>(byte))).says("\r\n").waits(20s).says("ok\r\n");
      CAPTURE(byte, far.log.text());
      REQUIRE(far.log.data.size() >= 3);
      CHECK(far.log.data.substr(far.log.data.size() - 3) == "ok\r");
    }
  }
}

TEST_CASE("dialect: every cut of the input gives the same events") {
  const std::string inputs[] = {
      "robin\r\nsecret\r\n",
      "\r\n" + from_hex("FFFD01 FFFD03 FFFB1F FFFA1F00500018FFF0") + "robin\r\0x"s,
      from_hex("FFFD03") + "robin\r\n",
      "robin\rsecret\r",
      "robin\nsecret\n",
      "\xFF\xFF\xFF x\r\n",
  };
  for (const Door door : {Door::automatic, Door::always, Door::never}) {
    for (const auto& input : inputs) {
      const auto whole = Far(door).says(input).waits(20s).log.text();
      every_cut(input, [&](std::string_view first, std::string_view second) {
        CAPTURE(readable(first), readable(second));
        REQUIRE(Far(door).says(first).says(second).waits(20s).log.text() == whole);
      });
      Far slowly(door);
      for (const char& c : input) slowly.says({&c, 1});
      CHECK(slowly.waits(20s).log.text() == whole);
    }
  }
}

TEST_CASE("dialect: on a plain line every byte typed arrives, at any pace") {
  const unsigned seed = std::random_device{}();
  CAPTURE(seed);
  std::mt19937 random(seed);
  for (int round = 0; round < 500; ++round) {
    // Any bytes but Enter, and no whole answer to a question that may be open.
    std::string typed;
    for (int i = 0; i < 60; ++i) {
      const char byte = random() % 3 == 0 ? '\xFF' : static_cast<char>(random() % 256);
      if (byte != '\r' && byte != '\n' && byte != '\x01' && byte != '\0') typed += byte;
    }
    Far far(Door::automatic);
    far.says("\r\n").waits(1s);
    for (std::size_t at = 0; at < typed.size();) {
      const std::size_t length = 1 + random() % 5;
      far.says(std::string_view(typed).substr(at, length));
      far.waits(std::chrono::milliseconds(random() % 400));
      at += length;
    }
    REQUIRE(readable(far.waits(20s).log.data) == readable(typed));
  }
}
