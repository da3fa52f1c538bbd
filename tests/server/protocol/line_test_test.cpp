// The line test against lines with the faults that it is to name.
#include "server/protocol/line_test.h"

#include <bit>
#include <functional>

#include <catch2/catch.hpp>

using namespace stationer::server;
using namespace std::string_literals;

namespace {

// What a far end makes of a byte.
using End = std::function<std::string(char)>;

LineTest::Findings tested(const End& end, std::size_t cut = 7, std::size_t burst_buffer = 0) {
  LineTest test(9600);
  Time now{std::chrono::hours(1)};
  std::size_t pending = 0;  // in the far end's memory during the burst
  for (int steps = 0; !test.over(); ++steps) {
    REQUIRE(steps < 5000);
    const std::string sent = test.next(now);
    std::string back;
    for (const char c : sent) {
      // An end without a handshake that takes in so much at once, and no more.
      if (burst_buffer > 0 && !test.wants_all_bytes() && ++pending > burst_buffer) continue;
      back += end(c);
    }
    for (std::size_t at = 0; at < back.size(); at += cut) test.feed(back.substr(at, cut), now);
    if (test.deadline()) now = std::max(now, *test.deadline());
    test.feed("", now);  // a reader that was woken by its deadline
  }
  return test.findings();
}

std::string as_it_is(char c) {
  return {c};
}

char with_parity(char c, bool odd) {
  const auto seven = static_cast<unsigned char>(c & 0x7F);
  const bool set = (std::popcount(seven) % 2 != 0) != odd;
  return static_cast<char>(seven | (set ? 0x80 : 0));
}

std::string first(const LineTest::Findings& findings) {
  REQUIRE_FALSE(findings.sentences.empty());
  return findings.sentences.front();
}

bool says(const LineTest::Findings& findings, std::string_view what) {
  for (const auto& each : findings.sentences) {
    if (each.find(what) != std::string::npos) return true;
  }
  return false;
}

}  // namespace

TEST_CASE("line test: a loop plug brings everything back") {
  const auto findings = tested(as_it_is);
  CHECK(findings.well);
  CHECK(findings.sentences.size() == 1);
  CHECK(first(findings).find("every byte from 00 to FF") != std::string::npos);
  // However it comes in.
  for (const std::size_t cut : {1u, 2u, 3u, 5u, 64u, 4096u}) {
    CHECK(tested(as_it_is, cut).sentences == findings.sentences);
  }
}

TEST_CASE("line test: silence, and rubbish") {
  CHECK(first(tested([](char) { return ""s; })).find("Nothing came back.") == 0);
  const auto rubbish = tested([](char c) { return std::string(1, static_cast<char>(c * 7 + 3)); });
  CHECK(first(rubbish).find("they are not what was sent") != std::string::npos);
  CHECK_FALSE(rubbish.well);
}

TEST_CASE("line test: seven bits, and parity where there should be none") {
  const auto seven = tested([](char c) { return std::string(1, static_cast<char>(c & 0x7F)); });
  CHECK(seven.sentences.size() == 1);
  CHECK(first(seven).find("The line carries seven bits") == 0);
  const auto even = tested([](char c) { return std::string(1, with_parity(c, false)); });
  CHECK(even.sentences.size() == 1);
  CHECK(first(even).find("even parity") != std::string::npos);
  const auto odd = tested([](char c) { return std::string(1, with_parity(c, true)); });
  CHECK(first(odd).find("odd parity") != std::string::npos);
  const auto mark = tested([](char c) { return std::string(1, static_cast<char>(c | 0x80)); });
  CHECK(first(mark).find("mark parity") != std::string::npos);
}

TEST_CASE("line test: XON and XOFF eaten, alone or with others") {
  const auto flow = tested([](char c) { return c == 0x11 || c == 0x13 ? ""s : std::string{c}; });
  CHECK(flow.sentences.size() == 1);
  CHECK(first(flow).find("XON and XOFF (11 and 13) are eaten") == 0);
  const auto controls =
      tested([](char c) { return c == 0 || c == 0x1A || c == 0x13 ? ""s : std::string{c}; });
  CHECK(controls.sentences.size() == 2);
  CHECK(says(controls, "XON and XOFF"));
  CHECK(says(controls, "These bytes never come back: 00 1A (hexadecimal)."));
}

TEST_CASE("line test: an end that honours XOFF goes on at XON") {
  bool stopped = false;
  const auto findings = tested([&](char c) {
    if (c == 0x13) stopped = true;
    if (c == 0x11) stopped = false;
    return stopped || c == 0x11 ? ""s : std::string{c};
  });
  CHECK(says(findings, "XON and XOFF"));
  CHECK_FALSE(says(findings, "without a pause"));
}

TEST_CASE("line test: line ends that are turned, echo, and single bytes changed") {
  const auto turned = tested([](char c) { return c == '\r' ? "\r\n"s : std::string{c}; });
  CHECK(turned.sentences.size() == 1);
  CHECK(first(turned).find("A line end comes back as CR and LF both") == 0);
  const auto twice = tested([](char c) { return std::string(2, c); });
  CHECK(says(twice, "Each byte comes back twice"));
  const auto swapped = tested([](char c) { return std::string{c == '#' ? '\xA3' : c}; });
  CHECK(swapped.sentences.size() == 1);
  CHECK(first(swapped) == "These bytes come back as others: 23 (hexadecimal).");
}

TEST_CASE("line test: what is lost without a handshake") {
  const auto findings = tested(as_it_is, 7, 100);
  CHECK(findings.sentences.size() == 1);
  CHECK(first(findings).find("the other end can't say when to wait") != std::string::npos);
  CHECK_FALSE(findings.well);
}

TEST_CASE("line test: goes at the line's pace, and says how long it takes") {
  for (const std::uint32_t speed : {300u, 1200u, 115200u}) {
    LineTest test(speed);
    Time now{};
    const Time start = now;
    std::string first_part;
    while (!test.over()) {
      const std::string sent = test.next(now);
      if (test.wants_all_bytes()) first_part += sent;
      test.feed(sent, now);
      if (test.deadline()) now = std::max(now, *test.deadline());
    }
    CHECK(now - start <= test.usual_time());
    CHECK(now - start >= std::chrono::seconds(first_part.size() * 10 / speed));
    CHECK(test.findings().well);
  }
}
