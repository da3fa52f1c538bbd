// Work on a whole volume that takes its time, as several clients may follow it: one at a time, and
// its outcome.
#pragma once

#include <atomic>
#include <cstdint>
#include <memory>
#include <mutex>
#include <optional>

#include "fs/adoption.h"
#include "fs/check.h"
#include "fs/result.h"

namespace stationer::server {

template <class Report>
class LongRun {
 public:
  using Outcome = fs::Result<Report>;

  // True for the one who is to do the work; false when it is being done.
  bool begin() {
    const std::lock_guard lock(mutex_);
    if (under_way_) return false;
    under_way_ = true;
    outcome_ = nullptr;
    nodes_done = 0;
    nodes = 0;
    return true;
  }
  void end(Outcome outcome) {
    const std::lock_guard lock(mutex_);
    under_way_ = false;
    outcome_ = std::make_shared<const Outcome>(std::move(outcome));
  }

  bool under_way() const {
    const std::lock_guard lock(mutex_);
    return under_way_;
  }
  // Of the last one; null while one is under way, or when there was none.
  std::shared_ptr<const Outcome> outcome() const {
    const std::lock_guard lock(mutex_);
    return outcome_;
  }

  std::atomic<std::uint64_t> nodes_done{0};
  std::atomic<std::uint64_t> nodes{0};

 private:
  mutable std::mutex mutex_;
  bool under_way_ = false;
  std::shared_ptr<const Outcome> outcome_;
};

class CheckRun : public LongRun<fs::CheckReport> {};
class AdoptRun : public LongRun<fs::Adopted> {};

}  // namespace stationer::server
