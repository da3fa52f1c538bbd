#include <numeric>

#include "server/protocol/xmodem_block.h"
#include "server/protocol/xmodem_receive.h"
#include "server/protocol/xmodem_send.h"
#include "tests/server/protocol/bytes.h"
#include "tests/support/catch.h"
#include "tests/support/transfer_line.h"

using namespace stationer;
using namespace stationer::server;
using namespace stationer::tests;
using namespace std::chrono_literals;

namespace {

std::string counted_bytes(int first, int count) {
  std::string out(static_cast<std::size_t>(count), '\0');
  std::iota(out.begin(), out.end(), static_cast<char>(first));
  return out;
}

std::string filled(std::string text, std::size_t size, char with) {
  text.resize(size, with);
  return text;
}

std::string hex_sum(std::string_view data) {
  return to_hex(xmodem::check_of(data, xmodem::Check::sum));
}

std::string hex_crc(std::string_view data) {
  return to_hex(xmodem::check_of(data, xmodem::Check::crc));
}

std::chrono::sys_seconds at(std::int64_t seconds) {
  return std::chrono::sys_seconds(std::chrono::seconds(seconds));
}

CarriedFile named(std::string name, std::string bytes) {
  FileFacts facts;
  facts.name = std::move(name);
  facts.size = bytes.size();
  facts.modified = at(1'000'000'000);
  return {facts, std::move(bytes)};
}

// A file by itself, as XMODEM carries it.
std::vector<CarriedFile> nameless(std::string bytes, std::optional<bool> text = {}) {
  std::vector<CarriedFile> files(1);
  files[0].facts.text = text;
  files[0].bytes = std::move(bytes);
  return files;
}

constexpr bool batch = true;

Carried carry_batch(std::vector<CarriedFile> files, const LineKind& line, bool streaming = false) {
  XmodemSend sender({.batch = batch});
  XmodemReceive receiver({.batch = batch, .streaming = streaming});
  return carry({sender, receiver}, std::move(files), line);
}

}  // namespace

TEST_CASE("xmodem: sums and CRCs of known data") {
  // X/YMODEM Protocol Reference sections 7.2 and 8; values computed.
  CHECK(hex_crc("123456789") == "31C3");
  struct Row {
    std::string data;
    const char* sum;
    const char* crc;
  };
  const std::vector<Row> rows = {
      {std::string(128, '\0'), "00", "0000"},         {std::string(128, 0x1A), "00", "F8B0"},
      {std::string(128, '\xFF'), "80", "EDA9"},       {counted_bytes(0, 128), "C0", "E80A"},
      {counted_bytes(128, 128), "C0", "53E8"},        {filled("A", 128, 0x1A), "27", "F2DD"},
      {filled("HELLO\r\n", 128, 0x1A), "D5", "51E3"},
  };
  for (const Row& row : rows) {
    CHECK(hex_sum(row.data) == row.sum);
    CHECK(hex_crc(row.data) == row.crc);
  }
  CHECK(hex_crc(std::string(1024, 0x1A)) == "FC96");
  std::string four;
  for (int i = 0; i < 4; ++i) four += counted_bytes(0, 256);
  CHECK(hex_crc(four) == "C2E0");
}

TEST_CASE("xmodem: blocks as figures 9 and 11 and section 4.3 have them") {
  const std::string data = filled("A", 128, 0x1A);
  CHECK(to_hex(xmodem::block(1, data, xmodem::Check::sum)) == "0101FE" + to_hex(data) + "27");
  CHECK(to_hex(xmodem::block(1, data, xmodem::Check::crc)) == "0101FE" + to_hex(data) + "F2DD");
  const std::string large(1024, 0x1A);
  CHECK(to_hex(xmodem::block(1, large, xmodem::Check::crc)) == "0201FE" + to_hex(large) + "FC96");
}

TEST_CASE("ymodem: block 0 says the name, the length and the time") {
  // Section 5, figure 6; the others computed.
  const auto crc = [](const FileFacts& facts) { return hex_crc(xmodem::write_header(facts)); };
  const auto facts = [](std::string name, std::optional<std::uint64_t> size = {}) {
    FileFacts out;
    out.name = std::move(name);
    out.size = size;
    return out;
  };
  CHECK(crc(facts("foo.c")) == "2B1B");
  CHECK(crc(facts("readme.txt", 1000)) == "8828");
  CHECK(crc({}) == "0000");

  const auto read = [](std::string text) { return xmodem::read_header(filled(text, 128, '\0')); };
  const std::string figure = std::string("bbcsched.txt\0", 13) + "6347 3314742513 100644";
  CHECK(hex_crc(filled(figure, 128, '\0')) == "CA56");
  CHECK(read(figure) == FileFacts{"bbcsched.txt", 6347, at(456'377'675), {}});
  const std::string from_peer = std::string("s.bin\0", 6) + "200 7346545000 100644 0 1 200";
  CHECK(hex_crc(filled(from_peer, 126, '\0') + std::string("\0\2", 2)) == "55DD");
  CHECK(read(from_peer) == FileFacts{"s.bin", 200, at(1'000'000'000), {}});
  CHECK(read(std::string("readme.txt\0", 11) + "1000 0 0") == facts("readme.txt", 1000));
  CHECK(read(std::string("odd\0", 4) + "many 17") == facts("odd"));
  CHECK(read(std::string("odd\0", 4) + "99999999999999999999999") == facts("odd"));
  CHECK(read("foo.c") == facts("foo.c"));
  CHECK(read("").name.empty());
  // Some end the batch with a count in the last two bytes.
  CHECK(xmodem::read_header(std::string(126, '\0') + std::string("\0\2", 2)).name.empty());

  FileFacts full = facts("readme.txt", 1000);
  full.modified = at(1'000'000'000);
  CHECK(xmodem::read_header(xmodem::write_header(full)) == full);
  CHECK(xmodem::write_header(facts(std::string(126, 'n'))).size() == 128);
  CHECK(xmodem::write_header(facts(std::string(127, 'n'))).size() == 1024);
}

TEST_CASE("xmodem: a file goes over in every form and size") {
  std::mt19937 random(5);
  for (const std::size_t size :
       {0u, 1u, 127u, 128u, 129u, 895u, 896u, 897u, 1024u, 1025u, 5000u, 16'384u, 33'000u}) {
    CAPTURE(size);
    std::string bytes = random_bytes(random, size);
    if (!bytes.empty() && bytes.back() == 0x1A) bytes.back() = 'x';
    for (const bool long_blocks : {false, true}) {
      XmodemSend sender({.long_blocks = long_blocks});
      XmodemReceive receiver({});
      const Carried carried = carry({sender, receiver}, nameless(bytes), {});
      CHECK(carried.sender.done);
      CHECK(carried.receiver.done);
      REQUIRE(carried.files.size() == 1);
      CHECK(carried.files[0].bytes == bytes);
    }
    const Carried carried = carry_batch({named("one.dat", bytes)}, {});
    CHECK(carried.sender.done);
    CHECK(carried.receiver.done);
    REQUIRE(carried.files.size() == 1);
    CHECK(carried.files[0].bytes == bytes);
    CHECK(carried.files[0].facts == named("one.dat", bytes).facts);
  }
}

TEST_CASE("ymodem: a batch, an empty batch, and the streaming form") {
  std::mt19937 random(6);
  std::vector<CarriedFile> files;
  for (const std::size_t size : {300u, 0u, 70'000u, 26u}) {
    files.push_back(named("file" + std::to_string(size), random_bytes(random, size)));
  }
  files.back().bytes = std::string(26, 0x1A);  // filling, where no length says otherwise
  for (const bool streaming : {false, true}) {
    CAPTURE(streaming);
    const Carried carried = carry_batch(files, {115'200}, streaming);
    CHECK(carried.sender.done);
    CHECK(carried.receiver.done);
    REQUIRE(carried.files.size() == files.size());
    for (std::size_t i = 0; i < files.size(); ++i) {
      CHECK(carried.files[i].facts.name == files[i].facts.name);
      CHECK(carried.files[i].bytes == files[i].bytes);
    }
    CHECK(carried.sent == std::vector<std::string>(files.size()));
    CHECK(carry_batch({}, {}, streaming).receiver.done);
  }
}

TEST_CASE("xmodem: what the two say to each other, byte for byte") {
  // Section 8.3, figure 13 in form: C, a block, ACK, EOT; here the receiver asks for EOT again.
  XmodemReceive receiver({});
  Player play(receiver);
  play.begin();
  CHECK(readable(play.take_sent()) == "C");
  play.sleep(3s);
  CHECK(readable(play.take_sent()) == "C");
  play.sleep(6s);
  CHECK(readable(play.take_sent()) == "CC");
  play.sleep(3s);
  CHECK(readable(play.take_sent()) == "<15>");  // no CRC, it seems
  play.sleep(10s);
  CHECK(readable(play.take_sent()) == "<15>");
  play.hear(xmodem::block(1, filled("one", 128, 0x1A), xmodem::Check::sum));
  CHECK(readable(play.take_sent()) == "<06>");
  play.hear(xmodem::block(1, filled("one", 128, 0x1A), xmodem::Check::sum));
  CHECK(readable(play.take_sent()) == "<06>");  // again, because it was not heard
  play.hear("\x04");
  CHECK(readable(play.take_sent()) == "<15>");
  play.hear("\x04");
  CHECK(readable(play.take_sent()) == "<06>");
  REQUIRE(receiver.outcome());
  CHECK(receiver.outcome()->done);
  REQUIRE(play.files().size() == 1);
  CHECK(play.files()[0].bytes == "one");
}

TEST_CASE("xmodem: a block that came badly is asked for again when the line is silent") {
  XmodemReceive receiver({});
  Player play(receiver);
  play.begin();
  play.take_sent();
  std::string bad = xmodem::block(1, filled("one", 128, 0x1A), xmodem::Check::crc);
  bad[50] ^= 1;
  play.hear(bad);
  CHECK(play.take_sent().empty());
  play.sleep(900ms);
  play.hear("rest of it");
  play.sleep(900ms);
  CHECK(play.take_sent().empty());
  play.sleep(100ms);
  CHECK(readable(play.take_sent()) == "<15>");
  play.hear(bad.substr(0, 70));  // cut off
  play.sleep(1900ms);
  CHECK(play.take_sent().empty());
  play.sleep(100ms);
  CHECK(readable(play.take_sent()) == "<15>");
  play.sleep(10s);
  CHECK(readable(play.take_sent()) == "C");  // as good, before the first block
  play.hear(xmodem::block(1, filled("one", 128, 0x1A), xmodem::Check::crc));
  CHECK(readable(play.take_sent()) == "<06>");
  play.hear(xmodem::block(3, filled("three", 128, 0x1A), xmodem::Check::crc));
  CHECK(play.take_sent() == xmodem::cancellation);
  CHECK(play.abandoned() == 1);
  REQUIRE(receiver.outcome());
  CHECK_FALSE(receiver.outcome()->done);
}

TEST_CASE("xmodem: ten bad blocks one after another are too many") {
  XmodemReceive receiver({});
  Player play(receiver);
  play.begin();
  play.hear(xmodem::block(1, filled("one", 128, 0x1A), xmodem::Check::crc));
  std::string bad = xmodem::block(2, filled("two", 128, 0x1A), xmodem::Check::crc);
  bad.back() ^= 1;
  for (int i = 0; i < XmodemReceive::most_retries; ++i) {
    play.hear(bad);
    play.sleep(1s);
    REQUIRE_FALSE(receiver.outcome());
  }
  play.hear(bad);
  play.sleep(1s);
  REQUIRE(receiver.outcome());
  CHECK(receiver.outcome()->why == "The line is too bad: the same block failed 10 times.");
}

TEST_CASE("xmodem: two CAN cancel, one does not, and inside a block they are data") {
  SECTION("while receiving") {
    XmodemReceive receiver({});
    Player play(receiver);
    play.begin();
    play.hear("\x18");
    play.hear(xmodem::block(1, std::string(128, 0x18), xmodem::Check::crc));
    play.hear("\x18x\x18");
    CHECK_FALSE(receiver.outcome());
    play.sleep(1s);
    play.hear("\x18\x18");
    REQUIRE(receiver.outcome());
    CHECK(receiver.outcome()->why == "The other side broke it off.");
    CHECK(play.abandoned() == 1);
    CHECK(play.files().empty());
  }
  SECTION("while sending") {
    XmodemSend sender({});
    Player play(sender, nameless("abc"));
    play.begin();
    play.hear(
        "\x18"
        "C");
    CHECK(play.take_sent().size() == 133);
    play.hear("\x18\x18");
    REQUIRE(sender.outcome());
    CHECK_FALSE(sender.outcome()->done);
  }
  SECTION("by ourselves") {
    XmodemReceive receiver({});
    Player play(receiver);
    play.begin();
    play.hear(xmodem::block(1, std::string(128, 'x'), xmodem::Check::crc));
    play.take_sent();
    play.cancel("You broke it off.");
    CHECK(play.take_sent() == xmodem::cancellation);
    CHECK(play.abandoned() == 1);
    REQUIRE(receiver.outcome());
    CHECK(receiver.outcome()->why == "You broke it off.");
  }
}

TEST_CASE("xmodem: a sender follows what the receiver asks for") {
  SECTION("sums, when it asks by NAK") {
    XmodemSend sender({});
    Player play(sender, nameless(std::string(2000, 'x')));
    play.begin();
    CHECK(play.take_sent().empty());
    play.hear("\x15");
    CHECK(play.take_sent() ==
          xmodem::block(1, std::string(128, 'x'), xmodem::Check::sum));  // never long ones
  }
  SECTION("no answer to what it asked before it was heard") {
    XmodemSend sender({});
    Player play(sender, nameless(std::string(100, 'x')));
    play.begin();
    play.hear("CCC");
    play.sleep(800ms);
    play.hear("C");
    CHECK(play.take_sent().size() == 133);
    play.sleep(1s);
    play.hear("C");  // it did not hear the block
    CHECK(play.take_sent().size() == 133);
    play.hear("\x06");
    CHECK(play.take_sent() == "\x04");
    play.hear("C");
    CHECK(play.take_sent().empty());
    play.hear("\x15");
    CHECK(play.take_sent() == "\x04");
    play.sleep(10s);
    CHECK(play.take_sent() == "\x04");
    play.hear("\x06");
    REQUIRE(sender.outcome());
    CHECK(sender.outcome()->done);
  }
  SECTION("once, also when it asked for sums or the streaming form several times before") {
    for (const bool sums : {true, false}) {
      const std::string asked = sums ? "\x15\x15\x15" : "GGG";
      every_cut(asked, [&](std::string_view first, std::string_view second) {
        XmodemSend sender({.batch = !sums});
        Player play(sender, {named("a", "abc")});
        play.begin();
        play.hear(first);
        play.hear(second);
        REQUIRE(play.take_sent().size() == (sums ? 132 : 133));
      });
    }
  }
  SECTION("an end mark after a text that fills its last block") {
    // Section 7.2: optional, but preferred.
    XmodemSend sender({});
    Player play(sender, nameless(std::string(128, 'x'), true));
    play.begin();
    play.hear("C");
    play.take_sent();
    play.hear("\x06");
    CHECK(play.take_sent() == xmodem::block(2, std::string(128, 0x1A), xmodem::Check::crc));
    play.hear("\x06");
    CHECK(play.take_sent() == "\x04");
  }
  SECTION("long blocks only as long as the line bears them") {
    XmodemSend sender({});
    Player play(sender, nameless(std::string(9000, 'x')));
    play.begin();
    play.hear("C");
    CHECK(play.take_sent().size() == 1029);
    play.hear("\x15\x15\x15");
    CHECK(play.take_sent().size() == 3 * 1029u);  // this one keeps its size
    play.hear("\x06");
    CHECK(play.take_sent().size() == 133);
  }
}

TEST_CASE("ymodem: a receiver that lost the end of the batch is told again") {
  XmodemSend sender({.batch = true});
  Player play(sender);
  play.begin();
  play.hear("C");
  const std::string end = play.take_sent();
  CHECK(end.size() == 133);
  play.sleep(10s);
  play.hear("C");
  CHECK(play.take_sent() == end);
  play.sleep(10s);
  CHECK_FALSE(sender.outcome());
  play.sleep(5s);
  REQUIRE(sender.outcome());
  CHECK(sender.outcome()->done);  // it has every file
}

TEST_CASE("xmodem: what a block holds whose first octet is spoilt is the end of nothing") {
  XmodemReceive receiver({});
  Player play(receiver);
  play.begin();
  for (const std::uint8_t number : {std::uint8_t{1}, std::uint8_t{2}}) {
    play.hear(xmodem::block(number, std::string(128, 'x'), xmodem::Check::crc));
  }
  play.take_sent();
  // It would be two EOTs and two CANs.
  const std::string data = filled("\4\4\x18\x18", 128, 'y');
  const std::string block = xmodem::block(3, data, xmodem::Check::crc);
  play.hear("\x41" + block.substr(1));
  CHECK_FALSE(receiver.outcome());
  CHECK(play.take_sent().empty());
  play.sleep(1s);
  CHECK(play.take_sent() == "\x15");
  play.hear(block);
  CHECK(play.take_sent() == "\x06");
  play.hear("\4");
  play.hear("\4");
  REQUIRE(receiver.outcome());
  CHECK(receiver.outcome()->done);
}

TEST_CASE("xmodem: nobody there, and somebody who goes silent") {
  SECTION("no receiver") {
    XmodemSend sender({.patience = 60s});
    Player play(sender, nameless("abc"));
    play.begin();
    play.sleep(60s);
    REQUIRE(sender.outcome());
    CHECK(sender.outcome()->why == "The other side did not begin to receive.");
  }
  SECTION("no sender") {
    for (const bool many : {false, true}) {
      XmodemReceive receiver({.batch = many, .patience = 60s});
      Player play(receiver);
      play.begin();
      play.sleep(80s);
      REQUIRE(receiver.outcome());
      CHECK(receiver.outcome()->why == "The other side did not begin to send.");
      CHECK(play.abandoned() == (many ? 0 : 1));
    }
  }
  SECTION("the receiver goes silent") {
    XmodemSend sender({});
    Player play(sender, nameless("abc"));
    play.begin();
    play.hear("C");
    play.sleep(60s);
    REQUIRE(sender.outcome());
    CHECK(sender.outcome()->why == "The other side went silent.");
  }
  SECTION("the sender goes silent") {
    XmodemReceive receiver({});
    Player play(receiver);
    play.begin();
    play.hear(xmodem::block(1, std::string(128, 'x'), xmodem::Check::crc));
    play.sleep(120s);
    REQUIRE(receiver.outcome());
    CHECK(play.abandoned() == 1);
  }
}

TEST_CASE("ymodem: a file that is shorter than was said is not taken, what is beyond is dropped") {
  for (const bool streaming : {false, true}) {
    XmodemReceive receiver({.batch = true, .streaming = streaming});
    Player play(receiver);
    play.begin();
    FileFacts facts;
    facts.name = "short.dat";
    facts.size = 200;
    play.hear(xmodem::block(0, xmodem::write_header(facts), xmodem::Check::crc));
    play.hear(xmodem::block(1, std::string(128, 'x'), xmodem::Check::crc));
    SECTION(std::string("short") + (streaming ? ", streaming" : "")) {
      play.hear("\x04\x04");
      REQUIRE(receiver.outcome());
      CHECK(receiver.outcome()->why ==
            "The file was to have 200 bytes, and only 128 came. Send it again.");
      CHECK(play.abandoned() == 1);
      CHECK(play.files().empty());
    }
    SECTION(std::string("long") + (streaming ? ", streaming" : "")) {
      play.hear(xmodem::block(2, std::string(1024, 'y'), xmodem::Check::crc));
      play.hear("\x04");
      REQUIRE(play.files().size() == 1);
      CHECK(play.files()[0].bytes == std::string(128, 'x') + std::string(72, 'y'));
    }
  }
}

TEST_CASE("ymodem: a name that may not be is refused, and so is the rest") {
  XmodemSend sender({.batch = true});
  XmodemReceive receiver({.batch = true});
  const Carried carried =
      carry({sender, receiver, {"two"}}, {named("one", "1"), named("two", "2")}, {});
  CHECK(carried.files.size() == 1);
  CHECK_FALSE(carried.sender.done);
  CHECK(carried.receiver.why == "You may not change that.");
}

TEST_CASE("xmodem: the same bytes cut anywhere make the same file and the same answers") {
  std::string said;
  FileFacts facts;
  facts.name = "cut.dat";
  facts.size = 300;
  said += xmodem::block(0, xmodem::write_header(facts), xmodem::Check::crc);
  said += xmodem::block(1, counted_bytes(0, 128), xmodem::Check::crc);
  said += "noise";
  said += xmodem::block(2, counted_bytes(128, 128), xmodem::Check::crc);
  said += xmodem::block(2, counted_bytes(128, 128), xmodem::Check::crc);
  said += xmodem::block(3, filled("the end", 128, 'e'), xmodem::Check::crc);
  said += "\x04\x04";
  said += xmodem::block(0, std::string(128, '\0'), xmodem::Check::crc);
  const auto run = [&](std::vector<std::string_view> pieces) {
    XmodemReceive receiver({.batch = true});
    Player play(receiver);
    play.begin();
    for (const auto piece : pieces) play.hear(piece);
    REQUIRE(receiver.outcome());
    REQUIRE(play.files().size() == 1);
    return play.take_sent() + play.files()[0].bytes;
  };
  const std::string whole = run({said});
  every_cut(said, [&](std::string_view first, std::string_view second) {
    REQUIRE(run({first, second}) == whole);
  });
}

TEST_CASE("xmodem: over lines that lose, double and turn bytes everything arrives as it was") {
  std::mt19937 random(9);
  for (unsigned seed = 1; seed <= 60; ++seed) {
    CAPTURE(seed);
    std::string bytes = random_bytes(random, random() % 6000);
    if (!bytes.empty()) bytes.back() = 'x';
    LineKind line;
    line.delay = std::chrono::milliseconds(random() % 200);
    line.forth = noise(seed, 0.0006);
    line.back = noise(seed + 1000, 0.002);
    XmodemSend sender({.batch = seed % 2 == 0});
    XmodemReceive receiver({.batch = seed % 2 == 0});
    const Carried carried = carry({sender, receiver}, {named("noisy", bytes)}, line);
    INFO(carried.sender.why << " / " << carried.receiver.why);
    CHECK(carried.receiver.done);
    REQUIRE(carried.files.size() == 1);
    CHECK(carried.files[0].bytes == bytes);
  }
}

TEST_CASE("ymodem: streaming, the end is waited for as long as what was sent may take") {
  // All of it is in somebody's buffer at once.
  std::mt19937 random(3);
  const std::string bytes = random_bytes(random, 40'000);
  const Carried carried = carry_batch({named("streamed", bytes)}, {300, 100ms}, true);
  CHECK(carried.sender.done);
  REQUIRE(carried.files.size() == 1);
  CHECK((carried.files[0].bytes == bytes));
}
