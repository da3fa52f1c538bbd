#include "server/protocol/kermit.h"

#include <algorithm>

#include "server/protocol/kermit_coding.h"
#include "server/protocol/kermit_packet.h"
#include "server/protocol/kermit_terms.h"
#include "tests/server/protocol/bytes.h"
#include "tests/support/catch.h"
#include "tests/support/transfer_line.h"

using namespace stationer;
using namespace stationer::server;
using namespace stationer::tests;
using namespace std::chrono_literals;
using kermit::Check;
using kermit::Offer;
using kermit::Packet;
using kermit::Terms;

namespace {

constexpr std::array checks = {Check::one, Check::two, Check::three};

CarriedFile named(std::string name, std::string bytes) {
  FileFacts facts;
  facts.name = std::move(name);
  facts.size = bytes.size();
  facts.text = false;
  facts.modified = std::chrono::sys_seconds(std::chrono::seconds(1'000'000'000));
  return {facts, std::move(bytes)};
}

std::vector<Packet> packets_of(std::string_view octets, Check check,
                               std::size_t* spoilt = nullptr) {
  kermit::PacketReader reader;
  reader.use_check(check);
  std::vector<Packet> out;
  while (!octets.empty()) {
    const auto found = reader.take(octets);
    if (found && found->well) out.push_back(found->packet);
    if (found && !found->well && spoilt != nullptr) ++*spoilt;
  }
  return out;
}

Terms with_prefixes(std::optional<char> eighth = {}, std::optional<char> repeat = {}) {
  Terms terms;
  terms.eighth_bit = eighth;
  terms.repeat = repeat;
  return terms;
}

Carried carry_files(const std::vector<CarriedFile>& files, const LineKind& line,
                    Kermit::Options options = {}) {
  options.role = Kermit::Role::send;
  Kermit sender(options);
  options.role = Kermit::Role::receive;
  Kermit receiver(options);
  return carry({sender, receiver}, files, line);
}

void check_arrived(const Carried& carried, const std::vector<CarriedFile>& files) {
  INFO(carried.sender.why << " / " << carried.receiver.why);
  CHECK(carried.receiver.done);
  REQUIRE(carried.files.size() == files.size());
  for (std::size_t i = 0; i < files.size(); ++i) {
    CHECK(carried.files[i].facts == files[i].facts);
    CHECK((carried.files[i].bytes == files[i].bytes));
  }
}

}  // namespace

TEST_CASE("kermit: the three checks of known characters") {
  // Kermit Protocol Manual section 4.3 and chapter 6; values computed.
  CHECK(kermit::check_of("123456789", Check::one) == "@");
  CHECK(kermit::check_of("123456789", Check::two) == "'=");
  CHECK(kermit::check_of("123456789", Check::three) == "\"&)");
}

TEST_CASE("kermit: packets of known form") {
  // Chapter 4; values computed, those of attributes captured from two peers.
  struct Row {
    Packet packet;
    Check check;
    const char* octets;
  };
  const std::vector<Row> rows = {
      {{0, 'N', ""}, Check::one, "\1# N3"},
      {{0, 'Y', ""}, Check::one, "\1# Y>"},
      {{1, 'Y', ""}, Check::one, "\1#!Y?"},
      {{1, 'F', "HELLO.TXT"}, Check::one, "\1,!FHELLO.TXTU"},
      {{1, 'F', "HELLO.TXT"}, Check::two, "\1-!FHELLO.TXT,V"},
      {{1, 'F', "HELLO.TXT"}, Check::three, "\1.!FHELLO.TXT&5X"},
      {{2, 'D', "Hello, world#M#J"},
       Check::one,
       "\1"
       "3\"DHello, world#M#JA"},
      {{2, 'D', "Hello, world#M#J"},
       Check::two,
       "\1"
       "4\"DHello, world#M#J7?"},
      {{2, 'D', "Hello, world#M#J"},
       Check::three,
       "\1"
       "5\"DHello, world#M#J,1="},
      {{3, 'Z', ""}, Check::one, "\1##ZB"},
      {{4, 'B', ""}, Check::one, "\1#$B+"},
      {{2, 'E', "Disk full"}, Check::one, "\1,\"EDisk fullT"},
      {{0, 'G', "F"}, Check::one, "\1$ GF4"},
      {{0, 'R', "HELLO.TXT"}, Check::one, "\1, RHELLO.TXT!"},
      {{2, 'A', "\"\"B81\"14"}, Check::three, "\1-\"A\"\"B81\"14%E'"},
      {{4, 'Z', ""}, Check::three, "\1%$Z(,*"},
      {{5, 'B', ""}, Check::three, "\1%%B 8;"},
  };
  for (const Row& row : rows) {
    CAPTURE(row.octets);
    CHECK(kermit::write_packet(row.packet, row.check) == row.octets);
    CHECK(packets_of(row.octets, row.check) == std::vector{row.packet});
  }
  const std::string many(200, 'A');
  CHECK(kermit::write_packet({2, 'D', many}, Check::one) == "\1 \"D\"+6" + many + "4");
}

TEST_CASE("kermit: packets of every size and check are read again, however they are cut") {
  for (const Check check : checks) {
    for (const std::size_t size : {0u, 1u, 88u, 89u, 90u, 91u, 92u, 500u, 8930u, 9015u}) {
      const Packet packet{17, 'D', std::string(size, 'x')};
      const std::string octets = kermit::write_packet(packet, check);
      REQUIRE(packets_of("login: " + octets + "\r\n", check) == std::vector{packet});
    }
  }
  const std::string said = "kermit -ir\r" +
                           kermit::write_packet({0, 'S', "~* @-#Y3~"}, Check::one) + "\r" +
                           kermit::write_packet({1, 'D', std::string(100, 'y')}, Check::three) +
                           "\r\1" + kermit::write_packet({2, 'N', ""}, Check::two);
  const auto whole = packets_of(said, Check::three);
  CHECK(whole.size() == 3);
  every_cut(said, [&](std::string_view first, std::string_view second) {
    kermit::PacketReader reader;
    reader.use_check(Check::three);
    std::vector<Packet> out;
    for (std::string_view part : {first, second}) {
      while (!part.empty()) {
        const auto found = reader.take(part);
        if (found && found->well) out.push_back(found->packet);
      }
    }
    REQUIRE(out == whole);
  });
}

TEST_CASE("kermit: a short packet that is longer by one than it may be is read") {
  // As captured from a peer: 94 is the most that the manual allows (section 4.1).
  const Packet packet{3, 'D', std::string(95 - 2 - 3, 'u')};
  std::string counted = "\x7F#D" + packet.data;
  counted += kermit::check_of(counted, Check::three);
  CHECK(packets_of("\1" + counted + "\r", Check::three) == std::vector{packet});
}

TEST_CASE("kermit: a packet with any one bit turned is not taken") {
  for (const Check check : {Check::two, Check::three}) {
    for (const std::size_t size : {10u, 200u}) {
      const std::string octets = kermit::write_packet({5, 'D', std::string(size, 'u')}, check);
      for (std::size_t at = 0; at < octets.size(); ++at) {
        for (int bit = 0; bit < 7; ++bit) {
          std::string turned = octets;
          turned[at] = static_cast<char>(turned[at] ^ 1 << bit);
          const auto found = packets_of(turned + "\r", check);
          // A NAK or a command, by its type, is checked in its own way; as data none comes.
          REQUIRE(std::none_of(found.begin(), found.end(),
                               [](const Packet& each) { return each.type == 'D'; }));
        }
      }
    }
  }
}

TEST_CASE("kermit: a mark with parity tells of a line of seven bits") {
  std::string octets = kermit::write_packet({0, 'S', "~* @-#N1"}, Check::one);
  for (char& octet : octets) {  // even parity
    if (__builtin_popcount(static_cast<unsigned char>(octet)) % 2 != 0) {
      octet = static_cast<char>(octet | 0x80);
    }
  }
  kermit::PacketReader reader;
  std::string_view rest = octets;
  const auto found = reader.take(rest);
  REQUIRE(found);
  CHECK(found->well);
  CHECK(reader.saw_parity());
}

TEST_CASE("kermit: bytes as data") {
  // Sections 4.4 and 6.1; the run of NULs computed.
  const Terms plain;
  const Terms all = with_prefixes('&', '~');
  CHECK(kermit::encode_all("Hello, world\r\n", plain) == "Hello, world#M#J");
  CHECK(kermit::encode_all(std::string(120, '\0'), all) == "~~#@~:#@");
  CHECK(kermit::encode_all("a#b", plain) == "a##b");
  CHECK(kermit::encode_all("a#b&c~d", all) == "a##b#&c#~d");
  CHECK(kermit::encode_all("\x7F\xFF\xC1", plain) == std::string("#?#\xBF\xC1"));
  CHECK(kermit::encode_all("\x7F\xFF\xC1", all) == "#?&#?&A");
  CHECK(kermit::encode_all("aaaa", with_prefixes({}, '~')) == "~$a");
  CHECK(kermit::encode_all("aaa", with_prefixes({}, '~')) == "aaa");

  std::mt19937 random(4);
  for (const Terms& terms : {plain, with_prefixes('&'), with_prefixes({}, '~'), all}) {
    for (int i = 0; i < 300; ++i) {
      std::string bytes = random_bytes(random, random() % 300);
      if (i % 2 == 0) {
        for (char& byte : bytes) byte = "##&~a\0\xA3"[random() % 7];
      }
      std::string_view rest = bytes;
      std::string again;
      while (!rest.empty()) {
        const std::string data = kermit::encode(rest, 10 + random() % 80, terms);
        const auto decoded = kermit::decode(data, terms);
        REQUIRE(decoded);
        again += *decoded;
        if (terms.eighth_bit) {
          REQUIRE(std::all_of(data.begin(), data.end(), [](char c) { return c >= 32 && c < 127; }));
        }
      }
      REQUIRE((again == bytes));
    }
  }
  for (const char* cut : {"ab#", "ab&", "ab&#", "~", "~$", "~$#"})
    CHECK_FALSE(kermit::decode(cut, all));
}

TEST_CASE("kermit: what two ends offer, and what holds then") {
  // Two peers' own, as captured; chapter 5 has the fields. Of the first: packets of 90, a window of
  // one.
  const auto offer_in = [](std::string_view octets) {
    const auto packets = packets_of(octets, Check::one);
    REQUIRE(packets.size() == 1);
    CHECK(packets[0].type == 'S');
    return kermit::read_offer(packets[0].data);
  };
  const Offer first = offer_in("\1. Sz' @-#Y3~*!(\r");
  CHECK(first.longest == 90);
  CHECK(first.time == 7s);
  CHECK(first.padding == 0);
  CHECK(first.padded_with == '\0');
  CHECK(first.end == '\r');
  CHECK(first.control_prefix == '#');
  CHECK(first.eighth_bit == 'Y');
  CHECK(first.check == Check::three);
  CHECK(first.repeat_prefix == '~');
  CHECK(first.long_packets);
  CHECK(first.attributes);
  CHECK(first.window == 1);
  CHECK(first.longest_long == 500);
  // Of the second: windows of 30, long packets of 42 * 95 + 9, and fields that we do not know.
  const Offer second = offer_in(
      "\1"
      "9 S~/ @-#Y3~^>J)0___F\"U1@?\r");
  CHECK(second.longest == 94);
  CHECK(second.window == 30);
  CHECK(second.longest_long == 3999);
  CHECK(second.attributes);

  CHECK(kermit::read_offer("") == Offer());
  CHECK(kermit::read_offer("\x01\x02").longest == 80);
  Offer odd;
  odd.longest = 60;
  odd.padding = 3;
  odd.padded_with = '\x7F';
  odd.eighth_bit = '&';
  odd.check = Check::two;
  odd.long_packets = true;
  odd.longest_long = 1234;
  odd.window = 5;
  odd.attributes = true;
  odd.repeat_prefix = '|';
  CHECK(kermit::read_offer(kermit::write_offer(odd)) == odd);

  const Terms terms = kermit::agree(odd, kermit::answer_to(odd, second), true);
  CHECK(terms.check == Check::one);
  CHECK(terms.eighth_bit == '&');
  CHECK_FALSE(terms.repeat);
  CHECK(terms.window == 5);
  CHECK(terms.most_data == 3999 - 6);
  CHECK(terms.attributes);
}

TEST_CASE("kermit: files of many sizes go over with every check, window and prefix") {
  std::mt19937 random(8);
  std::vector<CarriedFile> files;
  for (const std::size_t size : {0u, 1u, 900u, 5000u, 40'000u}) {
    files.push_back(named("FILE" + std::to_string(size) + ".DAT", random_bytes(random, size)));
  }
  files.push_back(named("RUNS.DAT", std::string(30'000, '\0') + std::string(500, 'x')));
  for (const Check check : checks) {
    for (const unsigned window : {1u, 2u, 31u}) {
      for (const std::size_t longest : {94u, 1000u, 9000u}) {
        for (const bool seven : {false, true}) {
          CAPTURE(static_cast<int>(check), window, longest, seven);
          LineKind line;
          if (seven) line.forth = line.back = seven_bits();
          Kermit::Options options;
          options.check = check;
          options.window = window;
          options.longest = longest;
          options.seven_bits = seven;
          check_arrived(carry_files(files, line, options), files);
        }
      }
    }
  }
}

TEST_CASE("kermit: ends that want different things agree on what both can do") {
  std::mt19937 random(8);
  const std::vector<CarriedFile> files = {named("A.DAT", random_bytes(random, 7000))};
  for (const bool swapped : {false, true}) {
    Kermit::Options modest;
    modest.check = Check::one;
    modest.window = 1;
    modest.longest = 94;
    Kermit::Options able;
    Kermit::Options first = swapped ? able : modest;
    Kermit::Options second = swapped ? modest : able;
    first.role = Kermit::Role::send;
    second.role = Kermit::Role::receive;
    Kermit sender(first);
    Kermit receiver(second);
    check_arrived(carry({sender, receiver}, files, {}), files);
  }
  // One end alone knows of the seven bits.
  LineKind line;
  line.forth = line.back = seven_bits();
  for (const bool swapped : {false, true}) {
    Kermit sender({.role = Kermit::Role::send, .seven_bits = swapped});
    Kermit receiver({.role = Kermit::Role::receive, .seven_bits = !swapped});
    check_arrived(carry({sender, receiver}, files, line), files);
  }
}

TEST_CASE("kermit: a file that is not wanted is passed over, the next one comes") {
  for (const bool attributes : {true, false}) {
    CAPTURE(attributes);
    Kermit sender({.role = Kermit::Role::send});
    Kermit receiver({.role = Kermit::Role::receive});
    const std::vector<CarriedFile> files = {named("NO.DAT", std::string(30'000, 'n')),
                                            named("YES.DAT", "yes")};
    const Carried carried = carry({sender, receiver, {"NO.DAT"}}, files, {});
    CHECK(carried.sender.done);
    REQUIRE(carried.files.size() == 1);
    CHECK(carried.files[0].bytes == "yes");
    CHECK(carried.sent == std::vector<std::string>{"The other side did not want it.", ""});
    CHECK(carried.bytes_forth < 2000);
  }
}

TEST_CASE("kermit: over lines that lose, double and turn bytes everything arrives as it was") {
  std::mt19937 random(9);
  for (unsigned seed = 1; seed <= 80; ++seed) {
    CAPTURE(seed);
    const std::vector<CarriedFile> files = {
        named("NOISY.DAT", random_bytes(random, random() % 9000)),
        named("SECOND.DAT", random_bytes(random, 100))};
    LineKind line;
    line.delay = std::chrono::milliseconds(random() % 300);
    line.forth = noise(seed, 0.0008);
    line.back = noise(seed + 1000, 0.002);
    Kermit::Options options;
    options.window = 1 + seed % 9;
    options.longest = seed % 3 == 0 ? 94 : 1500;
    check_arrived(carry_files(files, line, options), files);
  }
}

TEST_CASE("kermit: a line that eats flow control codes spoils nothing") {
  std::mt19937 random(2);
  const std::vector<CarriedFile> files = {named("A.DAT", random_bytes(random, 20'000))};
  LineKind line;
  line.forth = line.back = eats_flow_control();
  Kermit::Options options;
  options.seven_bits = true;  // bit 8 and these codes would else be seen as 91 and 93
  check_arrived(carry_files(files, line, options), files);
}

TEST_CASE("kermit: a server gives, takes, refuses and finishes") {
  Kermit server({.role = Kermit::Role::serve});
  Player play(server, {named("HELLO.TXT", "hello")});
  play.begin();
  play.hear("\1, RNOTHERE..\r");
  CHECK(play.take_sent().empty());  // the check is wrong
  play.hear(kermit::write_packet({0, 'R', "NOTHERE"}, Check::one));
  CHECK(packets_of(play.take_sent(), Check::one) ==
        std::vector<Packet>{{0, 'E', "There is no such file."}});
  play.hear(kermit::write_packet({0, 'K', "show"}, Check::one));
  CHECK(packets_of(play.take_sent(), Check::one) ==
        std::vector<Packet>{{0, 'E', "This server only sends and receives files."}});

  Kermit getter({.role = Kermit::Role::receive});
  Player client(getter);
  client.begin();
  play.hear(kermit::write_packet({0, 'R', "HELLO.TXT"}, Check::one));
  const auto converse = [&](Player& one, Player& other) {
    for (int i = 0; i < 100; ++i) {
      const std::string there = one.take_sent();
      if (!there.empty()) other.hear(there);
      const std::string back = other.take_sent();
      if (!back.empty()) one.hear(back);
      if (there.empty() && back.empty()) return;
    }
    FAIL("they never stop");
  };
  converse(play, client);
  REQUIRE(getter.outcome());
  CHECK(getter.outcome()->done);
  REQUIRE(client.files().size() == 1);
  CHECK(client.files()[0].bytes == "hello");

  Kermit giver({.role = Kermit::Role::send});
  Player other(giver, {named("UP.DAT", "given"), named("UP2.DAT", "given too")});
  other.begin();
  converse(other, play);
  REQUIRE(giver.outcome());
  CHECK(giver.outcome()->done);
  REQUIRE(play.files().size() == 2);
  CHECK(play.files()[1].bytes == "given too");

  CHECK_FALSE(server.outcome());
  play.hear("\1$ GF4\r");
  REQUIRE(server.outcome());
  CHECK(server.outcome()->done);
}

TEST_CASE("kermit: somebody breaks off, or goes away") {
  SECTION("by three Ctrl-C") {
    Kermit receiver({.role = Kermit::Role::receive});
    Player play(receiver);
    play.begin();
    play.hear("\3\3");
    CHECK_FALSE(receiver.outcome());
    play.hear("\3");
    REQUIRE(receiver.outcome());
    CHECK(receiver.outcome()->why == "Ctrl-C was typed.");
  }
  SECTION("by an error packet, in the middle of a file") {
    Kermit receiver({.role = Kermit::Role::receive});
    Player play(receiver);
    play.begin();
    play.hear(kermit::write_packet({0, 'S', "~* @-#N1"}, Check::one));
    play.hear(kermit::write_packet({1, 'F', "A.DAT"}, Check::one));
    play.hear(kermit::write_packet({2, 'D', "half"}, Check::one));
    play.hear(kermit::write_packet({3, 'E', "User interrupt"}, Check::one));
    REQUIRE(receiver.outcome());
    CHECK(receiver.outcome()->why == "The other side broke it off: User interrupt");
    CHECK(play.abandoned() == 1);
    CHECK(play.files().empty());
  }
  SECTION("the sender takes the file back") {
    Kermit receiver({.role = Kermit::Role::receive});
    Player play(receiver);
    play.begin();
    play.hear(kermit::write_packet({0, 'S', "~* @-#N1"}, Check::one));
    play.hear(kermit::write_packet({1, 'F', "A.DAT"}, Check::one));
    play.hear(kermit::write_packet({2, 'D', "half"}, Check::one));
    play.hear(kermit::write_packet({3, 'Z', "D"}, Check::one));
    play.hear(kermit::write_packet({4, 'B', ""}, Check::one));
    REQUIRE(receiver.outcome());
    CHECK(receiver.outcome()->done);
    CHECK(play.abandoned() == 1);
    CHECK(play.files().empty());
  }
  SECTION("nobody there") {
    for (const auto role : {Kermit::Role::send, Kermit::Role::receive}) {
      Kermit machine({.role = role, .patience = 60s});
      Player play(machine, {named("A.DAT", "x")});
      play.begin();
      play.sleep(80s);
      REQUIRE(machine.outcome());
      CHECK_FALSE(machine.outcome()->done);
    }
  }
  SECTION("gone in the middle") {
    Kermit receiver({.role = Kermit::Role::receive});
    Player play(receiver);
    play.begin();
    play.hear(kermit::write_packet({0, 'S', "~* @-#N1"}, Check::one));
    play.hear(kermit::write_packet({1, 'F', "A.DAT"}, Check::one));
    play.sleep(10min);
    REQUIRE(receiver.outcome());
    CHECK(receiver.outcome()->why == "The other side went silent.");
    CHECK(play.abandoned() == 1);
  }
  SECTION("packets in a senseless order") {
    for (const char type : {'F', 'A', 'B'}) {
      Kermit receiver({.role = Kermit::Role::receive});
      Player play(receiver);
      play.begin();
      play.hear(kermit::write_packet({0, 'S', "~* @-#N1"}, Check::one));
      play.hear(kermit::write_packet({1, 'F', "A.DAT"}, Check::one));
      play.hear(kermit::write_packet({2, type, "B.DAT"}, Check::one));
      REQUIRE(receiver.outcome());
      CHECK_FALSE(receiver.outcome()->done);
      CHECK(play.abandoned() == 1);
    }
  }
}

TEST_CASE("kermit: Ctrl-C three times breaks off, whatever comes with it") {
  const std::string typed = "xx\3\3\3\r" + kermit::write_packet({0, 'S', ""}, Check::one);
  every_cut(typed, [](std::string_view first, std::string_view second) {
    Kermit receiver({.role = Kermit::Role::receive});
    Player play(receiver);
    play.begin();
    play.hear(first);
    play.hear(second);
    REQUIRE(receiver.outcome());
    REQUIRE(receiver.outcome()->why == "Ctrl-C was typed.");
  });
}

TEST_CASE("kermit: a caller who takes long to answer is not the other end's silence") {
  Kermit receiver({.role = Kermit::Role::receive});
  server::Time now{};
  receiver.begin(now);
  const auto hear = [&](const Packet& packet, Check check) {
    return receiver.feed(kermit::write_packet(packet, check), now);
  };
  hear({0, 'S', "~* @-#Y3~"}, Check::one);
  REQUIRE(hear({1, 'F', "A.DAT"}, Check::three).request);
  receiver.accept(now);
  REQUIRE(hear({2, 'D', "abc"}, Check::three).request);
  now += 60s;
  CHECK_FALSE(receiver.deadline());
  receiver.accept(now);
  REQUIRE(receiver.deadline());
  CHECK(*receiver.deadline() > now);
  CHECK(receiver.tick(now).send.empty());
}
