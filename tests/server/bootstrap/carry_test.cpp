// The C program for old machines against the service's own machines, in one process, over lines of
// every quality. The same as code of small machines: `simulators`.
#include <functional>
#include <optional>

#include <catch2/catch.hpp>

#include "server/protocol/xmodem_receive.h"
#include "server/protocol/xmodem_send.h"
#include "tests/server/bootstrap/far_end.h"

extern "C" {
#include "server/bootstrap/carry/carry.h"
#include "server/bootstrap/carry/memory.h"
#include "tests/server/bootstrap/native/machine.h"
}

using namespace stationer;
using namespace stationer::tests;

namespace {

// The line of the machine under test.
struct Line {
  std::function<bool()> came = [] { return false; };
  std::function<std::uint8_t()> take;
  std::function<void(std::uint8_t)> give = [](std::uint8_t) {};
  std::function<bool()> stop = [] { return false; };
};
Line line;

std::vector<unsigned char> memory(70'000);

std::string received() {
  return {memory.data(), memory_end};
}

int receive_with(std::size_t room = memory.size()) {
  memory_end = memory.data();
  memory_limit = memory.data() + room;
  return receive_file();
}

int send_with(const std::string& bytes) {
  std::copy(bytes.begin(), bytes.end(), memory.begin());
  memory_next = memory.data();
  memory_end = memory.data() + bytes.size();
  return send_file();
}

void connect(FarEnd& far) {
  line.came = [&far] { return far.came(); };
  line.take = [&far] { return far.take(); };
  line.give = [&far](std::uint8_t byte) { far.give(byte); };
  line.stop = [&far] { return far.out_of_time(); };
}

int receives(const std::string& bytes, const LineKind& kind = {}, bool long_blocks = false) {
  server::XmodemSend::Options options;
  options.long_blocks = long_blocks;
  server::XmodemSend sender(options);
  FarEnd far(sender, {{{}, bytes}}, kind);
  connect(far);
  return receive_with();
}

struct Sent {
  int result;
  std::optional<std::string> bytes;  // as the service closed the file
};
Sent sends(const std::string& bytes, const LineKind& kind = {}, int seconds_late = 0) {
  server::XmodemReceive receiver(server::XmodemReceive::Options{});
  FarEnd far(receiver, {}, kind);
  connect(far);
  for (int look = 0; look < seconds_late * 100; ++look) {
    if (far.came()) far.take();
  }
  Sent sent{send_with(bytes), {}};
  if (!far.player().files().empty()) sent.bytes = far.player().files().front().bytes;
  return sent;
}

std::string some_bytes(std::size_t size) {
  std::mt19937 random(static_cast<unsigned>(size));
  std::string bytes = random_bytes(random, size);
  if (!bytes.empty()) bytes.back() = 'e';  // not what fills up a block
  return bytes;
}

// A far end of a few words: what comes at once, and what each byte given leads to.
struct Script {
  std::deque<std::uint8_t> coming;
  std::string given;
  std::function<void(Script&)> answers = [](Script&) {};

  Script(const Script&) = delete;
  explicit Script(std::string_view first = {}) {
    put(first);
    line.came = [this] { return !coming.empty(); };
    line.take = [this] {
      const std::uint8_t byte = coming.front();
      coming.pop_front();
      return byte;
    };
    line.give = [this](std::uint8_t byte) {
      given += static_cast<char>(byte);
      answers(*this);
    };
    line.stop = [] { return false; };
  }
  void put(std::string_view bytes) {
    for (const char byte : bytes) coming.push_back(static_cast<std::uint8_t>(byte));
  }
};

std::string block(std::uint8_t number, char byte) {
  return server::xmodem::block(number, std::string(128, byte), server::xmodem::Check::crc);
}
const std::string soh(1, '\x01');
const std::string eot(1, '\x04');
const std::string cancel(8, '\x18');

constexpr std::size_t sizes[] = {0, 1, 127, 128, 129, 255, 256, 1024, 5000, 40'000, 65'000};

}  // namespace

int native_came() {
  return line.came() ? 1 : 0;
}
int native_take() {
  return line.take();
}
void native_give(int byte) {
  line.give(static_cast<std::uint8_t>(byte));
}
int native_stop() {
  return line.stop() ? 1 : 0;
}

TEST_CASE("carry: the check is that of the published examples") {
  const auto crc = [](const std::string& text) {
    std::vector<unsigned char> bytes(text.begin(), text.end());
    return crc_of(bytes.data(), static_cast<unsigned char>(bytes.size()));
  };
  // Source: the catalogue of parametrised CRC algorithms, CRC-16/XMODEM, check.
  CHECK(crc("123456789") == 0x31C3);
  for (std::size_t size = 0; size <= 128; ++size) {
    CHECK(crc(some_bytes(size)) == server::xmodem::crc_of(some_bytes(size)));
  }
}

TEST_CASE("carry: files come and go whole over a good line") {
  for (const std::size_t size : sizes) {
    INFO(size);
    const std::string bytes = some_bytes(size);
    REQUIRE(receives(bytes) == CARRY_DONE);
    CHECK(received() == bytes);
    const Sent sent = sends(bytes);
    CHECK(sent.result == CARRY_DONE);
    CHECK(sent.bytes == bytes);
  }
}

TEST_CASE("carry: a sender that is started late sends sums, which is what is asked for then") {
  for (const std::size_t size : {0, 1, 128, 40'000}) {
    const Sent sent = sends(some_bytes(size), {}, 20);
    CHECK(sent.result == CARRY_DONE);
    CHECK(sent.bytes == some_bytes(size));
  }
}

TEST_CASE("carry: blocks of 1,024 bytes are not for it, and nothing is taken for a file") {
  CHECK(receives(some_bytes(5000), {}, true) == CARRY_SILENT);
  CHECK(received().empty());
  CHECK(receives(some_bytes(500), {}, true) == CARRY_DONE);  // too little for a long block
}

TEST_CASE("carry: what fills up the last block is left out, and no other SUB") {
  for (const std::string& bytes :
       {std::string("\x1A"), std::string(128, '\x1A') + "e", std::string(300, '\x1A') + "e",
        std::string("a") + std::string(255, '\x1A') + "e"}) {
    REQUIRE(receives(bytes) == CARRY_DONE);
    const std::size_t end = bytes.find_last_not_of('\x1A') + 1;
    CHECK(received() == bytes.substr(0, end));
  }
}

TEST_CASE("carry: over a bad line a file comes whole, or it is said that it did not") {
  int whole = 0;
  constexpr int lines = 300;
  for (unsigned seed = 0; seed < lines; ++seed) {
    INFO(seed);
    const std::string bytes = some_bytes(3000 + seed);
    const double chance = seed % 3 == 0 ? 0.0002 : seed % 3 == 1 ? 0.001 : 0.004;
    LineKind kind;
    kind.forth = noise(seed, chance);
    kind.back = noise(seed + lines, chance);
    if (receives(bytes, kind) == CARRY_DONE) {
      ++whole;
      CHECK(received() == bytes);
    }
    kind.forth = noise(seed, chance);
    kind.back = noise(seed + lines, chance);
    const Sent sent = sends(bytes, kind);
    if (sent.bytes) CHECK(*sent.bytes == bytes);
    if (sent.result == CARRY_DONE) {
      ++whole;
      CHECK(sent.bytes);
    }
  }
  CAPTURE(whole);
  CHECK(whole > lines * 2 * 9 / 10);
}

TEST_CASE("carry: a receiver stores a block once that comes twice") {
  Script far(block(1, 'a') + block(1, 'a') + block(2, 'b') + block(2, 'b') + eot + eot);
  CHECK(receive_with() == CARRY_DONE);
  CHECK(received() == std::string(128, 'a') + std::string(128, 'b'));
  CHECK(far.given == "C\x06\x06\x06\x06\x15\x06");
}

TEST_CASE("carry: block numbers go round after 255") {
  std::string all;
  for (int i = 1; i <= 300; ++i) all += block(static_cast<std::uint8_t>(i), 'a');
  Script far(all + eot + eot);
  CHECK(receive_with() == CARRY_DONE);
  CHECK(received().size() == 300 * 128);
}

TEST_CASE("carry: a receiver breaks it off when a block is missing") {
  Script far(block(1, 'a') + block(3, 'c'));
  CHECK(receive_with() == CARRY_LOST);
  CHECK(far.given == "C\x06" + cancel);
  Script early(block(0, 'a'));  // what would be a repeat, if anything had come
  CHECK(receive_with() == CARRY_LOST);
}

TEST_CASE("carry: a receiver asks again for what is spoilt, and ten times at most") {
  for (const std::size_t at : {1, 2, 3, 100, 130, 131, 132}) {
    INFO(at);
    std::string bad = block(1, 'a');
    bad[at] = static_cast<char>(bad[at] ^ 0x04);
    Script far(bad);
    far.answers = [](Script& script) {
      if (script.given.size() == 2) script.put(block(1, 'a') + eot + eot);
    };
    CHECK(receive_with() == CARRY_DONE);
    CHECK(far.given == "CC\x06\x15\x06");
  }
  for (std::size_t size = 1; size < 133; ++size) {  // what comes stops in the middle
    Script far(block(1, 'a').substr(0, size));
    far.answers = [](Script& script) {
      if (script.given.size() == 2) script.put(block(1, 'a') + eot + eot);
    };
    CHECK(receive_with() == CARRY_DONE);
    CHECK(received() == std::string(128, 'a'));
  }
  Script far(block(1, 'a'));
  far.answers = [](Script& script) {
    if (script.given.back() == '\x15') script.put(soh + "rubbish");
  };
  CHECK(receive_with() == CARRY_BAD_LINE);
  CHECK(far.given == "C\x06" + std::string(10, '\x15') + cancel);
}

TEST_CASE("carry: one EOT or CAN that the line made ends nothing") {
  Script far(block(1, 'a') + eot);
  far.answers = [step = 0](Script& script) mutable {
    if (script.given.back() == '\x15' && step++ == 0) {
      script.put("\x18" + block(2, 'b') + eot + eot);
    }
  };
  CHECK(receive_with() == CARRY_DONE);
  CHECK(received() == std::string(128, 'a') + std::string(128, 'b'));
  Script off(block(1, 'a') + "\x18\x18");
  CHECK(receive_with() == CARRY_BROKEN_OFF);
}

TEST_CASE("carry: single EOTs and CANs without end are given up on") {
  Script far(eot + "\x18");
  far.answers = [](Script& script) {
    if (script.given.back() == '\x15') script.put(eot + "\x18");
  };
  CHECK(receive_with() == CARRY_SILENT);
}

TEST_CASE("carry: who hears nothing gives up, and who may not store breaks off") {
  Script calls;
  CHECK(receive_with() == CARRY_SILENT);
  CHECK(calls.given == std::string(41, 'C') + cancel);
  Script silence;
  CHECK(send_with("abc") == CARRY_SILENT);
  CHECK(silence.given.empty());
  Script no_answer("C");
  CHECK(send_with("abc") == CARRY_SILENT);
  CHECK(no_answer.given.size() == 133);
  Script large(block(1, 'a') + block(2, 'b'));
  CHECK(receive_with(200) == CARRY_NO_FILE);
  CHECK(large.given == "C\x06" + cancel);
}

TEST_CASE("carry: a key stops it on either side") {
  Script far("C");
  line.stop = [] { return true; };
  CHECK(send_with("abc") == CARRY_STOPPED);
  CHECK(far.given.substr(133) == cancel);
  Script receiving;
  line.stop = [] { return true; };
  CHECK(receive_with() == CARRY_STOPPED);
  CHECK(receiving.given == "C" + cancel);
}

TEST_CASE("carry: a sender heeds what the receiver says") {
  Script far("C");
  far.answers = [](Script& script) {
    if (script.given.size() == 133) script.put("\x18\x18");
  };
  CHECK(send_with("abc") == CARRY_BROKEN_OFF);
  CHECK(far.given ==
        server::xmodem::block(1, "abc" + std::string(125, '\x1A'), server::xmodem::Check::crc));
  Script sums("\x15");
  sums.answers = [](Script& script) {
    if (script.given.size() == 132 || script.given.back() == '\x04') script.put("\x06");
  };
  CHECK(send_with("abc") == CARRY_DONE);
  CHECK(sums.given ==
        server::xmodem::block(1, "abc" + std::string(125, '\x1A'), server::xmodem::Check::sum) +
            eot);
  Script bad("C");
  bad.answers = [](Script& script) {
    if (script.given.size() % 133 == 0) script.put("\x15");
  };
  CHECK(send_with("abc") == CARRY_BAD_LINE);
  CHECK(bad.given.size() == 10 * 133 + 8);
}

TEST_CASE("carry: whatever comes, both ends come to an end and stay within their memory") {
  std::mt19937 random(1);
  constexpr std::string_view likely =
      "\x01\x01\xFE\x02\xFD\x04\x06\x15\x18\x1A"
      "C";
  for (int round = 0; round < 3000; ++round) {
    std::string bytes;
    for (std::size_t size = random() % 600; size > 0; --size) {
      bytes += random() % 2 == 0 ? likely[random() % likely.size()] : static_cast<char>(random());
    }
    if (round % 3 == 0) bytes = block(1, 'a') + bytes;
    Script far(bytes);
    std::fill(memory.begin(), memory.end(), 0xEE);
    const int result = receive_with(256);
    CHECK((result >= CARRY_DONE && result <= CARRY_NO_FILE));
    CHECK(memory_end <= memory.data() + 256);
    CHECK(memory[256] == 0xEE);
    Script asking(bytes);
    const int sent = send_with(std::string(300, 'a'));
    CHECK((sent >= CARRY_DONE && sent <= CARRY_NO_FILE));
  }
}
