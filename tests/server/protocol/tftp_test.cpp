#include <deque>

#include <catch2/catch.hpp>

#include "server/protocol/netascii.h"
#include "server/protocol/tftp_packet.h"
#include "server/protocol/tftp_receive.h"
#include "server/protocol/tftp_send.h"
#include "server/protocol/tftp_terms.h"
#include "tests/server/protocol/bytes.h"

using namespace stationer::server;
using namespace stationer::tests;
using namespace std::chrono_literals;
using namespace std::string_literals;

namespace {

// What is read refers to its octets: they stay.
tftp::Packet read(std::string octets) {
  static std::deque<std::string> kept;
  return tftp::read(kept.emplace_back(std::move(octets)));
}

tftp::Request request(std::string octets) {
  const auto packet = read(std::move(octets));
  REQUIRE(std::holds_alternative<tftp::Request>(packet));
  return std::get<tftp::Request>(packet);
}

TftpTerms agreed(const std::string& octets, const TftpLimits& limits = {},
                 std::optional<std::uint64_t> size = std::nullopt) {
  return agree(request(octets), limits, size);
}

TftpTerms window_of(std::uint16_t window) {
  TftpTerms terms;
  terms.window = window;
  return terms;
}

std::string netascii(const std::string& stored, std::size_t at_once) {
  std::string out;
  NetasciiPlace place;
  while (place.offset < stored.size()) {
    std::string block(at_once, '\0');
    block.resize(to_netascii(std::string_view(stored).substr(place.offset), place, block));
    out += block;
  }
  return out;
}

// All blocks that a sender has to say now, as numbers.
std::string said(TftpSend& sender, std::uint64_t last, Time now) {
  std::string out;
  while (const auto block = sender.next()) {
    out += (out.empty() ? "" : " ") + std::to_string(*block);
    sender.sent(*block == last, now);
  }
  return out;
}

}  // namespace

TEST_CASE("tftp: packets are read as RFC 1350 §5 lays them out") {
  // RRQ BOOT.COM octet
  const auto load = request(from_hex("0001424F4F542E434F4D006F6374657400"));
  CHECK(!load.write);
  CHECK(load.file == "BOOT.COM");
  CHECK(!load.netascii);
  CHECK(load.options.empty());
  // WRQ A.TXT netascii
  const auto save = request(from_hex("0002412E545854006E6574617363696900"));
  CHECK(save.write);
  CHECK(save.file == "A.TXT");
  CHECK(save.netascii);

  const auto data = read(from_hex("0003000148656C6C6F"));
  CHECK(std::get<tftp::Data>(data).block == 1);
  CHECK(std::get<tftp::Data>(data).bytes == "Hello");
  CHECK(std::get<tftp::Data>(read(from_hex("00030002"))).bytes.empty());
  CHECK(std::get<tftp::Ack>(read(from_hex("00040000"))).block == 0);
  CHECK(std::get<tftp::Ack>(read(from_hex("0004FFFF"))).block == 65535);
  const auto error = std::get<tftp::Error>(read(from_hex("000500016E6F7420666F756E6400")));
  CHECK(error.code == 1);
  CHECK(error.text == "not found");

  CHECK(to_hex(tftp::ack(65535)) == "0004FFFF");
  CHECK(to_hex(tftp::error(tftp::ErrorCode::not_found, "not found")) ==
        "000500016E6F7420666F756E6400");
}

TEST_CASE("tftp: modes are in any case, and there are two (RFC 1350 §1, RFC 1123 §4.2.2.1)") {
  CHECK(request("\0\1x\0OcTeT\0"s).netascii == false);
  CHECK(request("\0\1x\0NETASCII\0"s).netascii);
  CHECK(std::holds_alternative<tftp::Malformed>(read("\0\1x\0mail\0"s)));
}

TEST_CASE("tftp: what is no packet is told apart, cut off anywhere") {
  for (const auto* hex : {"", "00", "0001", "000141", "00014100", "0001004142006F637465740000",
                          "0007", "000300", "0004", "00", "FFFF0000"}) {
    CAPTURE(hex);
    CHECK(std::holds_alternative<tftp::Malformed>(read(from_hex(hex))));
  }
  const std::string whole = "\0\1BOOT.COM\0octet\0blksize\0001432\0"s;
  for (std::size_t size = 0; size < whole.size(); ++size) {
    CAPTURE(size);
    const auto packet = read(whole.substr(0, size));
    // Once the mode is whole, an option that is not counts for nothing.
    const bool readable = size >= "\0\1BOOT.COM\0octet\0"s.size();
    CHECK(std::holds_alternative<tftp::Request>(packet) == readable);
    if (readable) CHECK(std::get<tftp::Request>(packet).options.empty());
  }
}

TEST_CASE("tftp: options are answered as in the example of RFC 2347, and only those asked for") {
  // RRQ foofile octet blksize 1432, and its OACK.
  const auto terms = agreed(from_hex("0001666F6F66696C65006F6374657400626C6B73697A65003134333200"));
  CHECK(terms.block == 1432);
  CHECK(to_hex(terms.oack) == "0006626C6B73697A65003134333200");
  CHECK(agreed("\0\1x\0octet\0"s, {}, 100).oack.empty());
  CHECK(agreed("\0\1x\0octet\0color\0blue\0"s, {}, 100).oack.empty());
}

TEST_CASE("tftp: the size of a file and a window are answered (RFC 2349, RFC 7440 §3)") {
  // RRQ foobar octet tsize 0 windowsize 16, and an OACK with size 673,312 and a window of 8.
  TftpLimits limits;
  limits.window = 8;
  const auto terms =
      agreed(from_hex("0001666F6F626172006F63746574007473697A6500300077696E646F7773697A6500313600"),
             limits, 673312);
  CHECK(to_hex(terms.oack) == "00067473697A65003637333331320077696E646F7773697A65003800");
  CHECK(terms.window == 8);
}

TEST_CASE("tftp: options with values that make no sense are left out, and the first one counts") {
  for (const auto& options :
       {"blksize\0007\0"s, "blksize\00065465\0"s, "blksize\0x\0"s, "blksize\0\0"s, "blksize\0-8\0"s,
        "timeout\0000\0"s, "timeout\000256\0"s, "windowsize\0000\0"s, "windowsize\00065536\0"s,
        "tsize\0-1\0"s, "blksize\00099999999999999999999\0"s}) {
    CAPTURE(readable(options));
    CHECK(agreed("\0\1x\0octet\0"s + options, {}, 5).oack.empty());
  }
  const auto terms = agreed("\0\1x\0octet\0BLKSIZE\00065464\0blksize\0008\0timeout\000255\0"s);
  CHECK(terms.block == 65464);
  CHECK(terms.timeout == 255s);
  // No more than so many octets are on their way at once.
  CHECK(agreed("\0\1x\0octet\0blksize\00065464\0windowsize\00064\0"s).window == 4);
}

TEST_CASE("tftp: who wants to write gets the size back that it announced (RFC 2349)") {
  const auto terms = agreed("\0\2x\0octet\0tsize\000673312\0"s);
  CHECK(terms.oack == "\0\6tsize\000673312\0"s);
}

TEST_CASE("tftp: netascii of a LF b CR c, and back, in blocks and pieces of any size") {
  // RFC 764 "NVT printer": CR LF for a new line, CR NUL for a carriage return alone.
  const std::string stored = from_hex("610A620D63");
  const std::string travels = from_hex("610D0A620D0063");
  for (std::size_t size = 1; size <= travels.size(); ++size) {
    CAPTURE(size);
    CHECK(to_hex(netascii(stored, size)) == to_hex(travels));
  }
  every_cut(travels, [&](std::string_view first, std::string_view second) {
    FromNetascii back;
    std::string out = back.feed(first);
    out += back.feed(second);
    out += back.finish();
    CHECK(to_hex(out) == to_hex(stored));
  });
  FromNetascii end;
  CHECK(end.feed("a\r") == "a");
  CHECK(end.finish() == "\r");
  FromNetascii strange;
  CHECK(strange.feed("a\r\rb\rc") == "a\r\rb\rc");
}

TEST_CASE("tftp: blocks beyond 65,535 are shown from 0 on, or from 1 on, and told apart") {
  for (const auto restart : std::initializer_list<std::uint16_t>{0, 1}) {
    const BlockNumbers numbers(restart);
    CHECK(numbers.shown(1) == 1);
    CHECK(numbers.shown(65'535) == 65'535);
    CHECK(numbers.shown(65'536) == restart);
    CHECK(numbers.shown(65'537) == restart + 1);
    const std::uint64_t later = 65'536U + 65'536U - restart;
    CHECK(numbers.shown(later - 1) == 65'535);
    CHECK(numbers.shown(later) == restart);
    CHECK(numbers.meant(restart, 65'530, 65'540) == 65'536U);
    CHECK(numbers.meant(65'535, 65'530, 65'540) == 65'535U);
    CHECK(numbers.meant(100, 65'530, 65'540) == std::nullopt);
  }
}

TEST_CASE("tftp: a sender goes block by block and ends with the short one (RFC 1350 §6)") {
  Time now(1h);
  TftpSend sender(window_of(1), now);
  CHECK(said(sender, 3, now) == "1");
  sender.acked(1, now);
  CHECK(said(sender, 3, now) == "2");
  sender.acked(2, now);
  CHECK(said(sender, 3, now) == "3");
  CHECK(sender.state() == TftpSend::State::sending);
  sender.acked(3, now);
  CHECK(sender.state() == TftpSend::State::done);
  CHECK(said(sender, 3, now).empty());
}

TEST_CASE("tftp: an acknowledgement that comes twice sends nothing twice (RFC 1123 §4.2.3.1)") {
  Time now(1h);
  TftpSend sender(window_of(1), now);
  std::size_t said_blocks = 0;
  while (sender.state() == TftpSend::State::sending) {
    const auto block = sender.next();
    if (!block) break;
    ++said_blocks;
    sender.sent(*block == 50, now);
    // Every acknowledgement comes three times, and the one before once more.
    for (int i = 0; i < 3; ++i) sender.acked(static_cast<std::uint16_t>(*block), now);
    sender.acked(static_cast<std::uint16_t>(*block - 1), now);
  }
  CHECK(sender.state() == TftpSend::State::done);
  CHECK(said_blocks == 50);
}

TEST_CASE("tftp: data wait until the answer to the options is acknowledged (RFC 2347)") {
  Time now(1h);
  const auto terms = agreed("\0\1x\0octet\0windowsize\0004\0"s);
  TftpSend sender(terms, now);
  CHECK(said(sender, 9, now) == "0");
  CHECK(said(sender, 9, now).empty());
  sender.acked(0, now);
  CHECK(said(sender, 9, now) == "1 2 3 4");
}

TEST_CASE("tftp: a window goes at once, and from a gap on once more (RFC 7440 §4)") {
  Time now(1h);
  TftpSend sender(window_of(4), now);
  CHECK(said(sender, 10, now) == "1 2 3 4");
  CHECK(said(sender, 10, now).empty());
  sender.acked(2, now);  // 3 was lost
  CHECK(said(sender, 10, now) == "3 4 5 6");
  sender.acked(2, now);  // again: nothing
  CHECK(said(sender, 10, now).empty());
  sender.acked(6, now);
  CHECK(said(sender, 10, now) == "7 8 9 10");
  sender.acked(10, now);
  CHECK(sender.state() == TftpSend::State::done);
}

TEST_CASE(
    "tftp: silence sends the window again, each time after twice as long (RFC 1123 §4.2.3.2)") {
  Time now(1h);
  TftpSend sender(window_of(2), now);
  CHECK(said(sender, 9, now) == "1 2");
  Time::duration waited{};
  for (int i = 0; i < 20 && sender.state() == TftpSend::State::sending; ++i) {
    const auto wait = sender.deadline() - now;
    if (i > 0) CHECK((wait >= waited || wait == TftpPace::most_wait));
    if (i == 1) CHECK(wait == 2 * waited);
    waited = wait;
    sender.tick(sender.deadline() - 1ms);
    CHECK(said(sender, 9, now).empty());
    now = sender.deadline();
    sender.tick(now);
    if (sender.state() == TftpSend::State::sending) CHECK(said(sender, 9, now) == "1 2");
  }
  CHECK(sender.state() == TftpSend::State::given_up);
  CHECK(now - Time(1h) < 60s);
}

TEST_CASE("tftp: the wait follows what answers take, but those to what went twice say nothing") {
  Time now(1h);
  TftpSend sender(window_of(1), now);
  CHECK(sender.deadline() - now == TftpPace::first_wait);
  for (std::uint16_t block = 1; block < 20; ++block) {
    CHECK(said(sender, 99, now) == std::to_string(block));
    now += 400ms;  // a slow machine
    sender.acked(block, now);
  }
  CHECK(said(sender, 99, now) == "20");
  CHECK(sender.deadline() - now >= 400ms);
  CHECK(sender.deadline() - now < 800ms);
  now = sender.deadline();
  sender.tick(now);
  CHECK(said(sender, 99, now) == "20");
  now += 1ms;
  sender.acked(20, now);  // to the first or the second?
  CHECK(said(sender, 99, now) == "21");
  CHECK(sender.deadline() - now >= 400ms);
}

TEST_CASE("tftp: a wait that was asked for is kept to (RFC 2349)") {
  Time now(1h);
  TftpSend sender(agreed("\0\1x\0octet\0timeout\0005\0"s), now);
  CHECK(said(sender, 9, now) == "0");
  now += 1ms;
  sender.acked(0, now);
  CHECK(said(sender, 9, now) == "1");
  CHECK(sender.deadline() - now == 5s);
}

TEST_CASE("tftp: late acknowledgements of what goes again count") {
  Time now(1h);
  TftpSend sender(window_of(4), now);
  CHECK(said(sender, 9, now) == "1 2 3 4");
  now = sender.deadline();
  sender.tick(now);
  CHECK(sender.next() == 1U);
  sender.sent(false, now);
  sender.acked(4, now);
  CHECK(said(sender, 9, now) == "5 6 7 8");
}

TEST_CASE(
    "tftp: a receiver acknowledges the request, and each block in its turn (RFC 1350 §4, §5)") {
  Time now(1h);
  TftpReceive receiver(window_of(1), now);
  CHECK(receiver.due() == 0U);
  receiver.answered(now);
  CHECK(!receiver.due());
  CHECK(receiver.take(1, false, now));
  CHECK(receiver.due() == 1U);
  receiver.answered(now);
  CHECK(!receiver.take(1, false, now));  // its acknowledgement was lost
  CHECK(receiver.due() == 1U);
  receiver.answered(now);
  CHECK(!receiver.take(3, false, now));  // nothing for a receiver of one block at a time
  CHECK(!receiver.due());
  CHECK(receiver.take(2, true, now));
  CHECK(receiver.due() == 2U);
  CHECK(receiver.state() == TftpReceive::State::complete);
}

TEST_CASE("tftp: after the end the last acknowledgement is there to be repeated (RFC 1350 §6)") {
  Time now(1h);
  TftpReceive receiver(window_of(1), now);
  receiver.answered(now);
  CHECK(receiver.take(1, true, now));
  receiver.answered(now);
  now += 3s;
  CHECK(!receiver.take(1, true, now));
  CHECK(receiver.due() == 1U);
  receiver.answered(now);
  now = receiver.deadline();
  receiver.tick(now);
  CHECK(receiver.state() == TftpReceive::State::over);
}

TEST_CASE("tftp: a receiver of windows acknowledges their ends, and gaps once (RFC 7440 §4)") {
  Time now(1h);
  TftpReceive receiver(window_of(4), now);
  receiver.answered(now);
  for (const auto block : std::initializer_list<std::uint16_t>{1, 2, 3}) {
    CHECK(receiver.take(block, false, now));
    CHECK(!receiver.due());
  }
  CHECK(receiver.take(4, false, now));
  CHECK(receiver.due() == 4U);
  receiver.answered(now);
  CHECK(receiver.take(5, false, now));
  CHECK(!receiver.take(7, false, now));  // 6 is lost
  CHECK(receiver.due() == 5U);
  receiver.answered(now);
  CHECK(!receiver.take(8, false, now));
  CHECK(!receiver.due());
  CHECK(receiver.take(6, false, now));
}

TEST_CASE("tftp: a receiver that hears nothing asks again, and gives up in the end") {
  Time now(1h);
  TftpReceive receiver(window_of(1), now);
  receiver.answered(now);
  CHECK(receiver.take(1, false, now));
  receiver.answered(now);
  int asked = 0;
  while (receiver.state() == TftpReceive::State::receiving) {
    now = receiver.deadline();
    receiver.tick(now);
    if (receiver.due() != 1U) continue;
    ++asked;
    receiver.answered(now);
  }
  CHECK(receiver.state() == TftpReceive::State::given_up);
  CHECK(asked >= 4);
  CHECK(now - Time(1h) < 60s);
}
