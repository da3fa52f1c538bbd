#include "print/worker.h"

#include <atomic>
#include <chrono>

#include <catch2/catch.hpp>

using namespace stationer;
using print::Worker;
using namespace std::chrono_literals;

namespace {

template <class Ask>
bool comes_true(Ask ask) {
  const auto until = std::chrono::steady_clock::now() + 20s;
  while (!ask()) {
    if (std::chrono::steady_clock::now() > until) return false;
    std::this_thread::sleep_for(1ms);
  }
  return true;
}

}  // namespace

TEST_CASE("a worker works at once, and again when it is nudged") {
  std::atomic<int> count = 0;
  Worker worker;
  CHECK_FALSE(worker.started());
  worker.start([&]() -> std::optional<std::chrono::seconds> {
    ++count;
    return std::nullopt;
  });
  CHECK(worker.started());
  CHECK(comes_true([&] { return count == 1; }));
  for (int n = 2; n < 5; ++n) {
    worker.nudge();
    CHECK(comes_true([&] { return count >= n; }));
  }
}

TEST_CASE("a worker works again when it said so") {
  std::atomic<int> count = 0;
  Worker worker;
  worker.start([&]() -> std::optional<std::chrono::seconds> {
    if (++count > 3) return std::nullopt;
    return 0s;
  });
  CHECK(comes_true([&] { return count == 4; }));
}

TEST_CASE("a nudge while it works is not forgotten") {
  std::atomic<int> count = 0;
  Worker worker;
  worker.start([&]() -> std::optional<std::chrono::seconds> {
    if (++count == 1) worker.nudge();
    return std::nullopt;
  });
  CHECK(comes_true([&] { return count == 2; }));
}

TEST_CASE("a worker that is stopped ends, whatever it waits for") {
  std::atomic<bool> told = false;
  Worker worker;
  worker.start([&]() -> std::optional<std::chrono::seconds> {
    comes_true([&] { return worker.stopping(); });
    told = worker.stopping();
    return 1000s;
  });
  worker.stop();
  CHECK(told);
  worker.stop();
}
