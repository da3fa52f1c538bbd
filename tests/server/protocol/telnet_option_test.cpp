#include "server/protocol/telnet_option.h"

#include <deque>
#include <random>

#include <catch2/catch.hpp>

using namespace stationer::server;
using N = Negotiation;

namespace {

constexpr auto silent = std::optional<bool>();

}  // namespace

TEST_CASE("the Q method follows its table: the other end says on") {  // RFC 1143 §7, "Upon WILL"
  CHECK(heard(N::no, true, true) == Move{N::yes, true});
  CHECK(heard(N::no, true, false) == Move{N::no, false});
  for (const bool agree : {true, false}) {
    CHECK(heard(N::yes, true, agree) == Move{N::yes, silent});
    CHECK(heard(N::want_no, true, agree) == Move{N::no, silent});
    CHECK(heard(N::want_no_then_yes, true, agree) == Move{N::yes, silent});
    CHECK(heard(N::want_yes, true, agree) == Move{N::yes, silent});
    CHECK(heard(N::want_yes_then_no, true, agree) == Move{N::want_no, false});
  }
}

TEST_CASE("the Q method follows its table: the other end says off") {  // RFC 1143 §7, "Upon WONT"
  for (const bool agree : {true, false}) {
    CHECK(heard(N::no, false, agree) == Move{N::no, silent});
    CHECK(heard(N::yes, false, agree) == Move{N::no, false});
    CHECK(heard(N::want_no, false, agree) == Move{N::no, silent});
    CHECK(heard(N::want_no_then_yes, false, agree) == Move{N::want_yes, true});
    CHECK(heard(N::want_yes, false, agree) == Move{N::no, silent});
    CHECK(heard(N::want_yes_then_no, false, agree) == Move{N::no, silent});
  }
}

TEST_CASE("the Q method follows its table: we want a change") {  // RFC 1143 §7, last two lists
  CHECK(wanted(N::no, true) == Move{N::want_yes, true});
  CHECK(wanted(N::yes, true) == Move{N::yes, silent});
  CHECK(wanted(N::want_no, true) == Move{N::want_no_then_yes, silent});
  CHECK(wanted(N::want_no_then_yes, true) == Move{N::want_no_then_yes, silent});
  CHECK(wanted(N::want_yes, true) == Move{N::want_yes, silent});
  CHECK(wanted(N::want_yes_then_no, true) == Move{N::want_yes, silent});

  CHECK(wanted(N::no, false) == Move{N::no, silent});
  CHECK(wanted(N::yes, false) == Move{N::want_no, false});
  CHECK(wanted(N::want_no, false) == Move{N::want_no, silent});
  CHECK(wanted(N::want_no_then_yes, false) == Move{N::want_no, silent});
  CHECK(wanted(N::want_yes, false) == Move{N::want_yes_then_no, silent});
  CHECK(wanted(N::want_yes_then_no, false) == Move{N::want_yes_then_no, silent});
}

// The proof of RFC 1143 §6 in small: two ends that both use the table, with messages on the way in
// both directions, come to rest and agree, whatever each wanted meanwhile.
TEST_CASE("two ends that change their minds at random come to rest in agreement") {
  const unsigned seed = std::random_device{}();
  CAPTURE(seed);
  std::mt19937 random(seed);
  for (int round = 0; round < 2000; ++round) {
    N ends[2] = {N::no, N::no};
    std::deque<bool> to[2];  // messages on their way to each end
    const bool agree[2] = {random() % 2 == 0, random() % 2 == 0};
    int sent = 0;
    const auto apply = [&](int end, Move move) {
      ends[end] = move.next;
      if (move.say) {
        to[1 - end].push_back(*move.say);
        ++sent;
      }
    };
    int wishes = 0;
    const auto deliver = [&](int end) {
      const bool on = to[end].front();
      to[end].pop_front();
      apply(end, heard(ends[end], on, agree[end]));
    };
    for (int step = 0; step < 30; ++step) {
      const int end = static_cast<int>(random() % 2);
      if (random() % 2 == 0) {
        apply(end, wanted(ends[end], random() % 2 == 0));
        ++wishes;
      } else if (!to[end].empty()) {
        deliver(end);
      }
    }
    while (!to[0].empty() || !to[1].empty()) {
      for (const int end : {0, 1}) {
        if (!to[end].empty()) deliver(end);
      }
      REQUIRE(sent < 4 * wishes + 4);  // no loop
    }
    CAPTURE(round);
    REQUIRE((ends[0] == N::yes || ends[0] == N::no));
    REQUIRE(ends[0] == ends[1]);
  }
}
