#include "server/task.h"

#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

#include "server/loop.h"
#include "tests/support/hand_loop.h"

using namespace stationer;
using namespace stationer::server;
using test::HandLoop;

namespace {

// Tells when it goes.
struct Guest {
  Guest(std::string name, std::vector<std::string>& left) : name_(std::move(name)), left_(left) {}
  Guest(const Guest&) = delete;
  Guest& operator=(const Guest&) = delete;
  ~Guest() { left_.push_back(name_); }

 private:
  std::string name_;
  std::vector<std::string>& left_;
};

Task<int> gives(int value) {
  co_return value;
}

Task<std::unique_ptr<int>> gives_what_only_moves(int value) {
  co_return std::make_unique<int>(value);
}

Task<void> throws(std::string words) {
  throw std::runtime_error(words);
  co_return;
}

Task<int> waits_for(Later<int> later) {
  co_return co_await later;
}

}  // namespace

TEST_CASE("task: runs when awaited or started, and not before") {
  std::string did;
  const auto inner = [&]() -> Task<int> {
    did += "inner ";
    co_return 7;
  };
  const auto outer = [&]() -> Task<int> {
    auto task = inner();
    did += "outer ";
    co_return co_await std::move(task) + 1;
  };
  auto task = outer();
  CHECK(did.empty());
  CHECK_FALSE(task.done());
  task.start();
  CHECK(did == "outer inner ");
  REQUIRE(task.done());
  CHECK(task.take() == 8);
}

TEST_CASE("task: values may be such that only move") {
  const auto outer = []() -> Task<int> {
    auto value = co_await gives_what_only_moves(5);
    co_return *value;
  };
  auto task = outer();
  task.start();
  CHECK(task.take() == 5);
}

TEST_CASE("task: what is thrown is thrown to who awaits, at once or after a wait") {
  Later<int> later;
  const auto waits_then_throws = [](Later<int> first) -> Task<void> {
    const int got = co_await first;
    throw std::runtime_error("got " + std::to_string(got));
  };
  std::string caught;
  const auto outer = [&]() -> Task<void> {
    try {
      co_await throws("at once");
    } catch (const std::runtime_error& error) {
      caught += error.what();
    }
    try {
      co_await waits_then_throws(later);
    } catch (const std::runtime_error& error) {
      caught += std::string(", ") + error.what();
    }
    throw std::runtime_error("the end");
  };
  auto task = outer();
  task.start();
  CHECK(caught == "at once");
  later.bring(3);
  CHECK(caught == "at once, got 3");
  REQUIRE(task.done());
  CHECK_THROWS_WITH(task.take(), "the end");
}

TEST_CASE("task: destroying it destroys what it awaits, innermost first") {
  std::vector<std::string> left;
  Later<int> later;
  const auto inner = [&]() -> Task<int> {
    const Guest guest("inner", left);
    co_return co_await later;
  };
  const auto outer = [&]() -> Task<void> {
    const Guest guest("outer", left);
    static_cast<void>(co_await inner());
  };
  {
    auto task = outer();
    task.start();
    CHECK(left.empty());
  }
  CHECK(left == std::vector<std::string>{"inner", "outer"});
  later.bring(1);  // nobody is there: nothing happens
  CHECK(left.size() == 2);
}

TEST_CASE("task: one that was never started, or moved from, goes quietly") {
  std::vector<std::string> left;
  {
    auto task = [](std::vector<std::string>& out) -> Task<void> {
      const Guest guest("nobody", out);
      co_return;
    }(left);
    auto other = std::move(task);
    Task<void> empty;
    CHECK(empty.done());
    empty = std::move(other);
    CHECK_FALSE(empty.done());
  }
  CHECK(left.empty());
}

TEST_CASE("task: 100,000 awaits one after the other leave the stack as it was") {
  constexpr int many = 100'000;
  const auto sum = []() -> Task<long> {
    long total = 0;
    for (int i = 0; i < many; ++i) total += co_await gives(i);
    co_return total;
  };
  auto task = sum();
  task.start();
  CHECK(task.take() == 4'999'950'000);

  // The same when each has to wait for the loop.
  HandLoop loop;
  const auto waiting_sum = [&]() -> Task<long> {
    long total = 0;
    for (int i = 0; i < many; ++i) {
      Later<int> later;
      loop.post([later, i] { later.bring(i); });
      total += co_await waits_for(later);
    }
    co_return total;
  };
  auto waiting = waiting_sum();
  waiting.start();
  loop.turn_all();
  REQUIRE(waiting.done());
  CHECK(waiting.take() == 4'999'950'000);
}

TEST_CASE("task: a chain of 1,000 that wait for one another ends in order") {
  Later<int> later;
  struct Chain {
    static Task<int> link(Later<int> end, int depth) {
      if (depth == 0) co_return co_await end;
      co_return co_await link(end, depth - 1) + 1;
    }
  };
  auto task = Chain::link(later, 1000);
  task.start();
  CHECK_FALSE(task.done());
  later.bring(1);
  REQUIRE(task.done());
  CHECK(task.take() == 1001);
}

TEST_CASE("later: brought before it is awaited, it does not wait") {
  const Later<int> later;
  later.bring(9);
  auto task = waits_for(later);
  task.start();
  REQUIRE(task.done());
  CHECK(task.take() == 9);
}

TEST_CASE("later: brought after who awaited is gone, nothing happens") {
  const Later<int> later;
  {
    auto task = waits_for(later);
    task.start();
    CHECK_FALSE(task.done());
  }
  later.bring(9);
}

TEST_CASE("loop: blocking work is done elsewhere, and its result comes by the loop") {
  HandLoop loop;
  loop.holds_work = true;
  const auto asks = [&]() -> Task<std::string> {
    const auto later = loop.blocking([] { return std::string("tide tables"); });
    co_return co_await later;
  };
  auto task = asks();
  task.start();
  CHECK(loop.works() == 1);
  CHECK_FALSE(loop.turn());
  CHECK(loop.do_work());
  CHECK_FALSE(task.done());
  CHECK(loop.turn());
  REQUIRE(task.done());
  CHECK(task.take() == "tide tables");
  CHECK_FALSE(loop.do_work());
}

TEST_CASE("loop: what blocking work captures arrives whole") {
  HandLoop loop;
  const auto asks = [&](std::string short_one, std::string long_one) -> Task<std::string> {
    const auto later = loop.blocking([short_one, long_one, made = short_one + "!"] {
      return short_one + " " + long_one + " " + made;
    });
    co_return co_await later;
  };
  auto task = asks("wren", "a name that is too long to lie inside of a string object");
  task.start();
  loop.turn_all();
  REQUIRE(task.done());
  CHECK(task.take() == "wren a name that is too long to lie inside of a string object wren!");
}

// Awaiting it without a name must not compile; see Named.
template <class Waited>
concept AwaitedInPlace = requires(Waited waited) {
  std::move(waited).operator co_await();
};
static_assert(AwaitedInPlace<Later<int>>);
static_assert(!AwaitedInPlace<Named<int>>);

TEST_CASE("loop: work whose asker is gone is done all the same, and its result let go") {
  HandLoop loop;
  loop.holds_work = true;
  auto kept = std::make_shared<int>(1);
  {
    const auto asks = [&]() -> Task<int> {
      const auto later = loop.blocking([kept] { return *kept; });
      co_return co_await later;
    };
    auto task = asks();
    task.start();
    CHECK(kept.use_count() == 2);
  }
  CHECK(loop.do_work());
  loop.turn_all();
  CHECK(kept.use_count() == 1);
}

TEST_CASE("loop: a durable change is told on the loop, refused or done") {
  HandLoop loop;
  const fs::Ticket ticket;
  const auto asks = [&]() -> Task<fs::Status> { co_return co_await loop.durable(ticket); };
  auto task = asks();
  task.start();
  CHECK_FALSE(loop.turn());
  ticket.settle(fs::Error{fs::Code::no_space, "The disk is full."});
  CHECK_FALSE(task.done());
  CHECK(loop.turn());
  REQUIRE(task.done());
  CHECK(task.take().error().code == fs::Code::no_space);
}
