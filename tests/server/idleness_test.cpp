#include "server/terminal/idleness.h"

#include <catch2/catch.hpp>

using namespace stationer::server;
using namespace std::chrono_literals;
using Says = Idleness::Says;

TEST_CASE("who types nothing is asked a minute before the end, once, and then is over") {
  const Time start = Time() + 1h;
  Idleness idleness(10min);
  CHECK_FALSE(idleness.deadline());
  CHECK(idleness.tick(start) == Says::nothing);
  idleness.typed(start);
  CHECK(idleness.deadline() == start + 9min);
  CHECK(idleness.tick(start + 9min - 1ms) == Says::nothing);
  CHECK(idleness.tick(start + 9min) == Says::ask);
  CHECK(idleness.deadline() == start + 10min);
  CHECK(idleness.tick(start + 10min - 1ms) == Says::nothing);
  CHECK(idleness.tick(start + 10min) == Says::over);
  CHECK_FALSE(idleness.deadline());
  CHECK(idleness.tick(start + 1h) == Says::nothing);
}

TEST_CASE("any key starts the time anew, also after being asked") {
  const Time start = Time() + 1h;
  Idleness idleness(10min);
  idleness.typed(start);
  CHECK(idleness.tick(start + 9min) == Says::ask);
  idleness.typed(start + 9min + 30s);
  CHECK(idleness.tick(start + 10min) == Says::nothing);
  CHECK(idleness.deadline() == start + 18min + 30s);
  CHECK(idleness.tick(start + 18min + 30s) == Says::ask);
}

TEST_CASE("no patience set means that nobody is sent away; the shortest asks at its half") {
  const Time start = Time() + 1h;
  Idleness for_ever(0min);
  for_ever.typed(start);
  CHECK_FALSE(for_ever.deadline());
  CHECK(for_ever.tick(start + 1000h) == Says::nothing);
  Idleness shortest(1min);
  shortest.typed(start);
  CHECK(shortest.tick(start + 29s) == Says::nothing);
  CHECK(shortest.tick(start + 30s) == Says::ask);
  CHECK(shortest.tick(start + 1min) == Says::over);
}

TEST_CASE("a time that was extended is over no sooner, and the usual one counts from then on") {
  const Time start = Time() + 1h;
  Idleness idleness(10min);
  idleness.typed(start);
  CHECK(idleness.tick(start + 9min) == Says::ask);
  idleness.extend(start + 30min);
  CHECK(idleness.tick(start + 10min) == Says::nothing);
  CHECK(idleness.tick(start + 29min) == Says::ask);
  CHECK(idleness.tick(start + 30min) == Says::over);
  idleness.typed(start + 40min);
  CHECK(idleness.deadline() == start + 49min);
}
