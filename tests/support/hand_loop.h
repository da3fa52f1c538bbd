// An event loop that the test turns by hand: what is posted waits until the test lets it run, the
// clock stands until the test moves it.
#pragma once

#include <chrono>
#include <condition_variable>
#include <deque>
#include <functional>
#include <mutex>
#include <utility>

#include "server/loop.h"

namespace stationer::test {

class HandLoop : public server::Loop {
 public:
  // ---- what the tested code calls ----
  void post(Job job) override {
    {
      const std::lock_guard lock(mutex_);
      posted_.push_back(std::move(job));
    }
    came_.notify_one();
  }
  void work(Job job) override {
    if (!holds_work) return job();
    works_.push_back(std::move(job));
  }
  server::Time now() const override { return now_; }

  // ---- what the test calls ----
  // Whether blocking work waits for do_work() instead of being done on the spot.
  bool holds_work = false;
  std::size_t works() const { return works_.size(); }
  bool do_work() {
    if (works_.empty()) return false;
    const Job job = std::move(works_.front());
    works_.pop_front();
    job();
    return true;
  }

  // Runs the oldest posted job; false when there is none.
  bool turn() { return run(take({})); }
  // Runs posted jobs until there are none.
  void turn_all() {
    while (turn()) continue;
  }
  // Runs posted jobs until `done`, waiting for those that other threads have yet to post, such as
  // the outcome of a durable save. False when nothing came for ten seconds.
  bool turn_until(const std::function<bool()>& done) {
    while (!done()) {
      if (!run(take(std::chrono::seconds(10)))) return done();
    }
    return true;
  }

  void pass(std::chrono::nanoseconds time) {
    now_ += std::chrono::duration_cast<server::Time::duration>(time);
  }

 private:
  Job take(std::chrono::milliseconds patience) {
    std::unique_lock lock(mutex_);
    if (!came_.wait_for(lock, patience, [&] { return !posted_.empty(); })) return {};
    Job job = std::move(posted_.front());
    posted_.pop_front();
    return job;
  }
  static bool run(const Job& job) {
    if (job) job();
    return static_cast<bool>(job);
  }

  std::mutex mutex_;
  std::condition_variable came_;
  std::deque<Job> posted_;
  std::deque<Job> works_;
  server::Time now_{std::chrono::hours(1)};
};

}  // namespace stationer::test
