// A sender and a receiver of TFTP with a network between them that loses, repeats, delays and
// reorders what it carries, in simulated time.
#include <map>
#include <random>

#include <catch2/catch.hpp>

#include "server/protocol/tftp_receive.h"
#include "server/protocol/tftp_send.h"

using namespace stationer::server;
using namespace std::chrono_literals;

namespace {

struct Network {
  double loses = 0;
  double repeats = 0;
  double delays = 0;  // by up to 50 ms, so that others overtake
};

struct Carried {
  bool whole = false;
  std::size_t blocks_said = 0;
  std::size_t acks_said = 0;
  Time::duration took{};
};

Carried carry(std::uint64_t blocks, const TftpTerms& terms, const Network& network,
              std::uint32_t seed) {
  std::mt19937 random(seed);
  std::uniform_real_distribution<double> chance(0, 1);
  Time now(1h);
  const Time begin = now;
  std::multimap<Time, std::uint64_t> forth;
  std::multimap<Time, std::uint64_t> back;
  const auto post = [&](std::multimap<Time, std::uint64_t>& way, std::uint64_t what) {
    if (chance(random) < network.loses) return;
    const int times = chance(random) < network.repeats ? 2 : 1;
    for (int i = 0; i < times; ++i) {
      const auto late = chance(random) < network.delays ? 50ms * chance(random) : 0ms;
      way.emplace(now + std::chrono::duration_cast<Time::duration>(1ms + late), what);
    }
  };
  TftpSend sender(terms, now);
  TftpReceive receiver(terms, now);
  receiver.answered(now);  // the request
  Carried out;
  std::uint64_t taken = 0;
  while (sender.state() == TftpSend::State::sending && now - begin < 1h) {
    while (const auto block = sender.next()) {
      ++out.blocks_said;
      post(forth, *block);
      sender.sent(*block == blocks, now);
    }
    Time next = sender.deadline();
    if (receiver.state() < TftpReceive::State::over) next = std::min(next, receiver.deadline());
    if (!forth.empty()) next = std::min(next, forth.begin()->first);
    if (!back.empty()) next = std::min(next, back.begin()->first);
    now = std::max(now, next);
    while (!forth.empty() && forth.begin()->first <= now) {
      const std::uint64_t block = forth.begin()->second;
      forth.erase(forth.begin());
      if (receiver.take(sender.shown(block), block == blocks, now)) {
        ++taken;
        REQUIRE(taken == block);
      }
      if (const auto due = receiver.due()) {
        ++out.acks_said;
        post(back, *due);
        receiver.answered(now);
      }
    }
    while (!back.empty() && back.begin()->first <= now) {
      const std::uint64_t block = back.begin()->second;
      back.erase(back.begin());
      sender.acked(sender.shown(block), now);
    }
    sender.tick(now);
    receiver.tick(now);
    if (receiver.due()) {
      ++out.acks_said;
      post(back, *receiver.due());
      receiver.answered(now);
    }
  }
  out.whole = sender.state() == TftpSend::State::done && taken == blocks;
  out.took = now - begin;
  return out;
}

TftpTerms window_of(std::uint16_t window) {
  TftpTerms terms;
  terms.window = window;
  return terms;
}

}  // namespace

TEST_CASE("tftp: over a network that loses, repeats and reorders, all arrives once and in order") {
  for (const std::uint16_t window : std::initializer_list<std::uint16_t>{1, 2, 4, 16, 64}) {
    for (std::uint32_t seed = 0; seed < 40; ++seed) {
      CAPTURE(window, seed);
      const auto carried = carry(1 + seed * 7, window_of(window), {0.1, 0.2, 0.2}, seed);
      CHECK(carried.whole);
    }
  }
}

TEST_CASE("tftp: a network that repeats everything is no reason to repeat anything") {
  for (const std::uint16_t window : std::initializer_list<std::uint16_t>{1, 8}) {
    const auto carried = carry(400, window_of(window), {0, 1, 0}, 1);
    CHECK(carried.whole);
    CHECK(carried.blocks_said == 400);
    // Each block that comes again may be a sign that its acknowledgement was lost: two for each.
    CHECK(carried.acks_said <= 800);
  }
}

TEST_CASE("tftp: without faults nothing goes twice, and nothing waits") {
  const auto one = carry(400, window_of(1), {}, 1);
  CHECK(one.whole);
  CHECK(one.blocks_said == 400);
  CHECK(one.acks_said == 400);
  CHECK(one.took <= 400 * 2ms);
  const auto many = carry(400, window_of(16), {}, 1);
  CHECK(many.blocks_said == 400);
  CHECK(many.acks_said == 25);
  CHECK(many.took <= 25 * 2ms);
}

TEST_CASE("tftp: block numbers that go round come through, from 0 and from 1 on") {
  for (const std::uint16_t restart : std::initializer_list<std::uint16_t>{0, 1}) {
    TftpTerms terms = window_of(64);
    terms.block_after_last = restart;
    const auto carried = carry(140'000, terms, {0.0005, 0.0005, 0}, 5);
    CHECK(carried.whole);
  }
}
