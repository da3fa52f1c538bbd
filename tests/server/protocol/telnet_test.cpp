#include "server/protocol/telnet.h"

#include <algorithm>
#include <random>

#include <catch2/catch.hpp>

#include "tests/server/protocol/bytes.h"

using namespace stationer::server;
using namespace stationer::tests;
using Side = Telnet::Side;
using Option = Telnet::Option;

namespace {

std::string name(Telnet::Signal signal) {
  switch (signal) {
    case Telnet::Signal::interrupt: return "interrupt";
    case Telnet::Signal::abort_output: return "abort output";
    case Telnet::Signal::are_you_there: return "are you there";
    case Telnet::Signal::break_key: return "break";
    case Telnet::Signal::erase_character: return "erase character";
    case Telnet::Signal::erase_line: return "erase line";
    case Telnet::Signal::end_of_record: return "end of record";
  }
  return "?";
}

// Events as text, one a line, with neighbouring data and neighbouring answers joined, so that two
// runs compare equal when they mean the same.
class Log {
 public:
  void add(const std::vector<Telnet::Event>& events) {
    for (const auto& event : events) std::visit([this](const auto& e) { put(e); }, event);
  }
  std::string text() const {
    std::string out;
    for (const auto& [kind, what] : lines_) out += kind + " " + what + "\n";
    return out;
  }
  std::size_t answered() const { return answered_; }

 private:
  void put(const Telnet::Data& e) { join("data", readable(e.bytes)); }
  void put(const Telnet::Send& e) {
    answered_ += e.bytes.size();
    if (e.urgent) {
      lines_.emplace_back("send urgent", to_hex(e.bytes));
    } else {
      join("send", to_hex(e.bytes));
    }
  }
  void put(Telnet::Signal e) { lines_.emplace_back("signal", name(e)); }
  void put(const Telnet::WindowSize& e) {
    lines_.emplace_back("window", std::to_string(e.columns) + "x" + std::to_string(e.rows));
  }
  void put(const Telnet::TerminalType& e) { lines_.emplace_back("type", e.name); }
  void put(const Telnet::Settled& e) {
    lines_.emplace_back(e.side == Side::us ? "us" : "them",
                        std::to_string(static_cast<int>(e.option)) + (e.on ? " on" : " off"));
  }
  void join(const std::string& kind, const std::string& what) {
    if (!lines_.empty() && lines_.back().first == kind) {
      lines_.back().second += what;
    } else {
      lines_.emplace_back(kind, what);
    }
  }
  std::vector<std::pair<std::string, std::string>> lines_;
  std::size_t answered_ = 0;
};

std::string run(Telnet telnet, std::string_view bytes) {
  Log log;
  log.add(telnet.feed(bytes));
  return log.text();
}

std::string hear(const Telnet& telnet, std::string_view hex) {
  return run(telnet, from_hex(hex));
}

Telnet offered() {
  Telnet telnet;
  telnet.offer();
  return telnet;
}

// Offers made and all of them accepted.
Telnet agreed() {
  Telnet telnet = offered();
  telnet.feed(from_hex("FFFD01 FFFD03 FFFB18 FFFB1F"));
  return telnet;
}

}  // namespace

TEST_CASE("the offers are Echo, Suppress Go-Ahead, terminal type and window size") {
  Telnet telnet;
  // RFC 857 §2, RFC 858 §2, RFC 1091 §2, RFC 1073 §1; RFC 1123 §3.2.2 demands the second.
  CHECK(to_hex(telnet.offer()) == "FFFB01FFFB03FFFD18FFFD1F");
  CHECK(telnet.offer().empty());  // never twice
}

TEST_CASE("nothing is sent unasked") {
  CHECK(run(Telnet(), "hello\r\n") == "data hello<0D>\n");
}

TEST_CASE("an option we do not have is refused, once for each request") {
  CHECK(hear(Telnet(), "FFFD22") == "send FFFC22\n");  // DO Linemode: WONT (RFC 854)
  CHECK(hear(Telnet(), "FFFB27") == "send FFFE27\n");  // WILL New-Environ: DONT
  CHECK(hear(Telnet(), "FFFE22").empty());             // already off: silence
  CHECK(hear(Telnet(), "FFFC27").empty());
}

TEST_CASE("what is already so gets no answer") {  // RFC 854, "general considerations", rule b
  CHECK(hear(agreed(), "FFFD03").empty());
  Telnet refused = offered();
  refused.feed(from_hex("FFFC1F"));
  CHECK(hear(refused, "FFFC1F").empty());
}

TEST_CASE("the client's Echo is refused, so that two ends never echo for each other") {
  CHECK(hear(Telnet(), "FFFB01") == "send FFFE01\n");  // RFC 857 §3
  CHECK_THROWS_AS(Telnet().request(Side::them, Option::echo, true), std::logic_error);
  CHECK_THROWS_AS(Telnet().request(Side::us, Option::window_size, true), std::logic_error);
}

TEST_CASE("Suppress Go-Ahead is accepted in both directions") {  // RFC 1123 §3.2.2
  CHECK(hear(Telnet(), "FFFB03") == "send FFFD03\nthem 3 on\n");
  CHECK(hear(Telnet(), "FFFD03") == "send FFFB03\nus 3 on\n");
}

TEST_CASE("a refusal of our offer is told and not acknowledged") {  // RFC 1143 §2
  CHECK(hear(offered(), "FFFE01") == "us 1 off\n");
  CHECK(hear(offered(), "FFFC18") == "them 24 off\n");
}

TEST_CASE("window sizes") {
  // The examples of RFC 1073 §6, and a doubled FF (RFC 855).
  CHECK(hear(agreed(), "FFFA1F00500018FFF0") == "window 80x24\n");
  CHECK(hear(agreed(), "FFFA1F012C0018FFF0") == "window 300x24\n");
  CHECK(hear(agreed(), "FFFA1F00FFFF0032FFF0") == "window 255x50\n");
  CHECK(hear(agreed(), "FFFA1F00000000FFF0") == "window 0x0\n");  // §2: not stated
  CHECK(hear(agreed(), "FFFA1F005000FFF0").empty());              // too short
  CHECK(hear(agreed(), "FFFA1F0050001800FFF0").empty());          // too long
  CHECK(hear(Telnet(), "FFFA1F00500018FFF0").empty());            // never agreed on
}

TEST_CASE("the terminal type is asked for once it may be, and heard once") {
  // RFC 1091 §2 and §5: SEND is the server's, IS the client's and only in answer.
  CHECK(hear(offered(), "FFFB18") == "send FFFA1801FFF0\nthem 24 on\n");
  CHECK(hear(agreed(), "FFFA18004D494C4CFFF0") == "type MILL\n");
  CHECK(hear(agreed(), "FFFA18006D696C6CFFF0") == "type MILL\n");  // §5: letter case is nothing
  CHECK(hear(agreed(), "FFFA18004D494C4CFFF0 FFFA18004D494C4CFFF0") == "type MILL\n");
  CHECK(hear(Telnet(), "FFFA18004D494C4CFFF0").empty());
  CHECK(hear(agreed(), "FFFA1800FFF0").empty());      // no name
  CHECK(hear(agreed(), "FFFA18001B5BFFF0").empty());  // a name that would move the cursor
  CHECK(hear(agreed(), "FFFA1801FFF0").empty());      // SEND is not for clients
  const std::string forty(40, 'A');
  CHECK(run(agreed(), from_hex("FFFA1800") + forty + from_hex("FFF0")) == "type " + forty + "\n");
  CHECK(run(agreed(), from_hex("FFFA1800") + forty + "A" + from_hex("FFF0")).empty());
}

TEST_CASE("every form of Enter is one CR, a doubled FF is one byte") {
  // RFC 1123 §3.3.1; RFC 854 "the NVT printer and keyboard": NUL after CR is removed.
  CHECK(hear(Telnet(), "410D0A420D0043FFFF") == "data A<0D>B<0D>C<FF>\n");
  CHECK(hear(Telnet(), "0A0A") == "data <0D><0D>\n");
  CHECK(hear(Telnet(), "0D0D0A") == "data <0D><0D>\n");
  CHECK(hear(Telnet(), "0D0A0A") == "data <0D><0D>\n");
  CHECK(hear(Telnet(), "0D41") == "data <0D>A\n");     // a client that forgets the NUL
  CHECK(hear(Telnet(), "0DFFF10A") == "data <0D>\n");  // NOP between the two
  CHECK(hear(Telnet(), "4100") == "data A<00>\n");     // NUL elsewhere is data
}

TEST_CASE("Binary from the client leaves every byte but FF alone") {  // RFC 856; RFC 1123 §3.2.7
  Telnet telnet;
  CHECK(to_hex(telnet.request(Side::them, Option::binary, true)) == "FFFD00");
  CHECK(hear(telnet, "FFFB00 0D0A0D000AFFFF") == "them 0 on\ndata <0D><0A><0D><00><0A><FF>\n");
  telnet.feed(from_hex("FFFB00"));
  CHECK(to_hex(telnet.request(Side::them, Option::binary, false)) == "FFFE00");
  // What was on its way is Binary still; after WONT it is typing again.
  CHECK(hear(telnet, "0D0A FFFC00 0D0A") == "data <0D><0A>\nthem 0 off\ndata <0D>\n");
  // An LF that opens the Binary stretch is not the end of the CR before it.
  CHECK(hear(Telnet(), "0D FFFB00 0A") == "data <0D>\nsend FFFD00\nthem 0 on\ndata <0A>\n");
}

TEST_CASE("output: FF doubled, bare CR becomes CR NUL, CR LF stays") {
  Telnet telnet;
  CHECK(to_hex(telnet.encode("a\r\nb\rc\xFF\r")) == "610D0A620D0063FFFF0D00");
  CHECK(to_hex(telnet.encode("\n")) == "0A");
  CHECK(to_hex(telnet.request(Side::us, Option::binary, true)) == "FFFB00");
  CHECK(to_hex(telnet.encode("\r")) == "0D00");  // not agreed yet
  telnet.feed(from_hex("FFFD00"));
  CHECK(to_hex(telnet.encode("a\r\nb\rc\xFF\r")) == "610D0A620D63FFFF0D");  // RFC 1123 §3.2.7
}

TEST_CASE("are-you-there is answered in print at once") {  // RFC 854, "are you there"
  CHECK(hear(Telnet(), "FFF6") == "send " + to_hex("\r\n[yes]\r\n") + "\nsignal are you there\n");
}

TEST_CASE("the other keys of the Telnet keyboard are signals") {  // RFC 854; EOR RFC 1123 §3.2.3
  CHECK(hear(Telnet(), "FFF4") == "signal interrupt\n");
  CHECK(hear(Telnet(), "FFF3") == "signal break\n");
  CHECK(hear(Telnet(), "FFF7") == "signal erase character\n");
  CHECK(hear(Telnet(), "FFF8") == "signal erase line\n");
  CHECK(hear(Telnet(), "FFEF") == "signal end of record\n");
  for (const char* ignored : {"FFF0", "FFF1", "FFF2", "FFF9", "FF00", "FFEE"}) {
    CHECK(hear(Telnet(), ignored).empty());
  }
}

TEST_CASE("abort output is answered with a Synch") {  // RFC 1123 §3.2.4: a server MUST
  CHECK(hear(Telnet(), "FFF5") == "send urgent FFF2\nsignal abort output\n");
}

TEST_CASE("a Synch drops what was typed and obeys the commands in it") {  // RFC 854, "Synch"
  Telnet telnet;
  telnet.urgent();
  CHECK(hear(telnet, "6162FFF463FFFD0364FFF265") ==
        "signal interrupt\nsend FFFB03\nus 3 on\ndata e\n");
  CHECK(hear(telnet, "FFF4FFF2") == "signal interrupt\n");
  // Without urgent data the Data Mark does nothing.
  CHECK(hear(Telnet(), "61FFF262") == "data ab\n");
}

TEST_CASE("a timing mark is answered at its place, each time") {  // RFC 860 §2, §3
  CHECK(hear(Telnet(), "61FFFD0662FFFD06") == "data a\nsend FFFB06\ndata b\nsend FFFB06\n");
  CHECK(hear(Telnet(), "FFFE06").empty());
  CHECK(hear(Telnet(), "FFFB06") == "send FFFE06\n");  // we asked for none
}

TEST_CASE("a subnegotiation cut off by a command leaves the command working") {
  CHECK(hear(agreed(), "FFFA1F0050 FFF4 41") == "signal interrupt\ndata A\n");
  CHECK(hear(agreed(), "FFFA1F00 FFFA1F00500018FFF0") == "window 80x24\n");
  CHECK(hear(Telnet(), "FFFA20 33383430302C3338343030 FFF0 41") ==
        "data A\n");                                  // unknown (RFC 855)
  CHECK(hear(Telnet(), "FFFAFFF041") == "data A\n");  // empty
}

TEST_CASE("invariant 6: a subnegotiation without end is dropped, not kept") {
  Telnet telnet = agreed();
  Log log;
  log.add(telnet.feed(from_hex("FFFA1800")));
  const std::string block(1 << 16, 'A');
  for (int i = 0; i < 256; ++i) log.add(telnet.feed(block));  // 16 MiB
  log.add(telnet.feed(from_hex("FFFF FFF0 42")));
  CHECK(log.text() == "data B\n");
}

TEST_CASE("Telnet: every cut of the input gives the same events") {
  const std::string input = from_hex(
      "FFFD01FFFD03FFFB18FFFB1F FFFA1F00FFFF0032FFF0 FFFA18004D494C4CFFF0 410D0A420D0043FFFF"
      "FFF6FFF5FFFD06FFFD22FFFB27FFFB00 0D0AFFFF FFFC00 0D00 FFFA1F0050FFF4 0A FFEF");
  const std::string whole = run(offered(), input);
  every_cut(input, [&](std::string_view first, std::string_view second) {
    Telnet telnet = offered();
    Log log;
    log.add(telnet.feed(first));
    log.add(telnet.feed(second));
    REQUIRE(log.text() == whole);
  });
  Telnet telnet = offered();
  Log log;
  for (const char& c : input) log.add(telnet.feed({&c, 1}));
  CHECK(log.text() == whole);
}

TEST_CASE("every byte, alone, after IAC, and as every option of every verb") {
  for (int byte = 0; byte < 256; ++byte) {
    const std::string one(1, static_cast<char>(byte));
    Log log;
    Telnet telnet;
    log.add(telnet.feed(one));
    log.add(telnet.feed("\xFF" + one));
    for (const char* verb : {"FFFB", "FFFC", "FFFD", "FFFE"}) {
      Telnet fresh;
      Log answer;
      answer.add(fresh.feed(from_hex(verb) + one));
      CHECK(answer.answered() <= 9);
      // Whatever was agreed, saying the same again is answered by silence or the same refusal.
      Log again;
      again.add(fresh.feed(from_hex(verb) + one));
      CHECK(again.answered() <= 3);
    }
  }
}

TEST_CASE("invariant 6: noise is survived, and answers stay within five bytes for one") {
  const unsigned seed = std::random_device{}();
  CAPTURE(seed);
  std::mt19937 random(seed);
  for (int round = 0; round < 200; ++round) {
    std::string input;
    for (int i = 0; i < 2000; ++i) {
      // Mostly commands, or noise would hardly ever be one.
      const auto pick = random() % 8;
      if (pick < 3) {
        input += '\xFF';
      } else if (pick < 6) {
        input += static_cast<char>(0xEF + random() % 17);
      } else {
        input += static_cast<char>(random() % 256);
      }
    }
    Telnet whole = offered();
    Log expected;
    expected.add(whole.feed(input));
    REQUIRE(expected.answered() <= 5 * input.size());

    Telnet cut = offered();
    Log log;
    for (std::size_t at = 0; at < input.size();) {
      const std::size_t length = std::min<std::size_t>(1 + random() % 9, input.size() - at);
      log.add(cut.feed(std::string_view(input).substr(at, length)));
      at += length;
    }
    REQUIRE(log.text() == expected.text());
  }
}

// Two of our machines would be the worst peers for each other: each answers all the other says.
TEST_CASE("two machines that ask each other for everything fall silent") {
  Telnet ends[2];
  std::string to[2];
  const auto ask = [&](int end, Side side, Option option, bool on) {
    to[1 - end] += ends[end].request(side, option, on);
  };
  for (const bool on : {true, false, true, true, false}) {
    for (const int end : {0, 1}) {
      for (const Side side : {Side::us, Side::them}) {
        ask(end, side, Option::binary, on);
        ask(end, side, Option::suppress_go_ahead, on);
      }
      ask(end, Side::us, Option::echo, on);
      ask(end, Side::them, Option::window_size, on);
    }
    int passes = 0;
    while (!to[0].empty() || !to[1].empty()) {
      REQUIRE(++passes < 20);
      for (const int end : {0, 1}) {
        std::string input;
        input.swap(to[end]);
        for (const auto& event : ends[end].feed(input)) {
          if (const auto* send = std::get_if<Telnet::Send>(&event)) to[1 - end] += send->bytes;
        }
      }
    }
    for (const Option option : {Option::binary, Option::suppress_go_ahead}) {
      for (const int end : {0, 1}) {
        CHECK(ends[end].active(Side::us, option) == on);
        CHECK(ends[1 - end].active(Side::them, option) == on);
      }
    }
  }
}
