#include "server/throttle.h"

#include <random>

#include <catch2/catch.hpp>

using namespace stationer::server;
using namespace std::chrono_literals;
using std::chrono::seconds;

namespace {

struct Guessing {
  Throttle throttle;
  Time now{24h};

  seconds wait(std::string_view station, std::string_view account) {
    return throttle.wait(station, account, now);
  }
  void wrong(std::string_view station, std::string_view account, int times = 1) {
    for (int i = 0; i < times; ++i) throttle.wrong(station, account, now);
  }
  void right(std::string_view station, std::string_view account) {
    throttle.right(station, account, now);
  }
};

}  // namespace

TEST_CASE("throttle: two wrong passwords cost nothing, the third one five seconds") {
  Guessing at;
  CHECK(at.wait("10.0.0.7", "robin") == 0s);
  at.wrong("10.0.0.7", "robin", 2);
  CHECK(at.wait("10.0.0.7", "robin") == 0s);
  at.wrong("10.0.0.7", "robin");
  CHECK(at.wait("10.0.0.7", "robin") == 5s);
  at.now += 4'999ms;
  CHECK(at.wait("10.0.0.7", "robin") == 1s);
  at.now += 1ms;
  CHECK(at.wait("10.0.0.7", "robin") == 0s);
}

TEST_CASE("throttle: the wait doubles with each further one, up to five minutes") {
  Guessing at;
  at.wrong("10.0.0.7", "robin", Throttle::allowed_together);
  for (const seconds expected : {5s, 10s, 20s, 40s, 80s, 160s, 300s, 300s, 300s}) {
    CHECK(at.wait("10.0.0.7", "robin") == expected);
    at.now += expected;
    CHECK(at.wait("10.0.0.7", "robin") == 0s);
    at.wrong("10.0.0.7", "robin");
  }
}

TEST_CASE("throttle: who guesses is slowed down, and nobody else") {
  Guessing at;
  at.wrong("10.0.0.7", "robin", 9);
  CHECK(at.wait("10.0.0.7", "robin") > 0s);
  CHECK(at.wait("10.0.0.7", "wren") == 0s);
  CHECK(at.wait("10.0.0.8", "robin") == 0s);
}

TEST_CASE("throttle: a station that tries ten names is slowed down for all names") {
  Guessing at;
  for (int i = 0; i < Throttle::allowed_at_station; ++i) {
    CHECK(at.wait("10.0.0.7", "teasel") == 0s);
    at.wrong("10.0.0.7", "name" + std::to_string(i));
  }
  CHECK(at.wait("10.0.0.7", "teasel") == 5s);
  CHECK(at.wait("10.0.0.8", "teasel") == 0s);
  at.now += 5s;
  at.wrong("10.0.0.7", "another");
  CHECK(at.wait("10.0.0.7", "teasel") == 10s);
}

TEST_CASE("throttle: an account guessed at from everywhere waits, but not where it is at home") {
  Guessing at;
  at.right("10.0.0.7", "robin");
  for (int i = 0; i < Throttle::allowed_for_account; ++i) {
    at.wrong("10.1.0." + std::to_string(i), "robin");
  }
  CHECK(at.wait("10.0.0.9", "robin") == 30s);
  CHECK(at.wait("10.0.0.7", "robin") == 0s);
  CHECK(at.wait("10.0.0.9", "wren") == 0s);
  at.now += 30s;
  CHECK(at.wait("10.0.0.9", "robin") == 0s);
  at.wrong("10.0.0.9", "robin");
  CHECK(at.wait("10.0.0.10", "robin") == 30s);
}

TEST_CASE("throttle: the right password makes up for the wrong ones before it") {
  Guessing at;
  at.wrong("10.0.0.7", "robin", 2);
  at.right("10.0.0.7", "robin");
  at.wrong("10.0.0.7", "robin", 2);
  CHECK(at.wait("10.0.0.7", "robin") == 0s);
}

TEST_CASE("throttle: everything is forgotten after an hour") {
  Guessing at;
  at.right("10.0.0.1", "robin");
  at.wrong("10.0.0.7", "robin", Throttle::allowed_for_account);
  at.now += Throttle::memory - 1s;
  at.wrong("10.0.0.7", "robin");
  CHECK(at.wait("10.0.0.7", "robin") == 300s);
  at.now += Throttle::memory;
  CHECK(at.wait("10.0.0.7", "robin") == 0s);
  at.wrong("10.0.0.7", "robin");
  CHECK(at.wait("10.0.0.7", "robin") == 0s);
  // Where it has signed in is forgotten too.
  at.wrong("10.0.0.8", "robin", Throttle::allowed_for_account);
  CHECK(at.wait("10.0.0.1", "robin") == 30s);
}

TEST_CASE("throttle: names are the same in capitals, as the store sees them") {
  Guessing at;
  at.wrong("10.0.0.7", "ROBIN", 2);
  at.wrong("10.0.0.7", "robin");
  CHECK(at.wait("10.0.0.7", "Robin") == 5s);
}

TEST_CASE("throttle: no station and name is taken for another one") {
  Guessing at;
  at.wrong("10.0.0.7", "1\nrobin", 3);
  at.wrong("10.0.0", "7robin", 3);
  CHECK(at.wait("10.0.0.7", "robin") == 0s);
  const std::string long_name(1000, 'a');
  at.wrong("10.0.0.9", long_name, 3);
  CHECK(at.wait("10.0.0.9", long_name) == 5s);
}

TEST_CASE("invariant 6: a flood of names and stations is forgotten beyond a bound") {
  Guessing at;
  at.right("10.0.0.1", "bram");
  for (std::size_t i = 0; i < Throttle::most_remembered + 500; ++i) {
    at.now += 1ms;
    at.wrong("s" + std::to_string(i), "n" + std::to_string(i), 3);
    at.right("w" + std::to_string(i), "welcome");
  }
  CHECK(at.throttle.remembered() <= 4 * Throttle::most_remembered);
  // The oldest made room, the newest are still slowed down.
  CHECK(at.wait("s0", "n0") == 0s);
  const std::string last = std::to_string(Throttle::most_remembered + 499);
  CHECK(at.wait("s" + last, "n" + last) == 5s);
}
