#include "print/worker.h"

namespace stationer::print {

void Worker::start(Work work) {
  const std::lock_guard lock(mutex_);
  thread_ = std::thread([this, work = std::move(work)] { loop(work); });
}

bool Worker::started() const {
  const std::lock_guard lock(mutex_);
  return thread_.joinable();
}

void Worker::nudge() {
  {
    const std::lock_guard lock(mutex_);
    nudged_ = true;
  }
  wake_.notify_all();
}

void Worker::stop() {
  {
    const std::lock_guard lock(mutex_);
    stopping_ = true;
  }
  wake_.notify_all();
  if (thread_.joinable()) thread_.join();
}

bool Worker::stopping() const {
  const std::lock_guard lock(mutex_);
  return stopping_;
}

void Worker::loop(const Work& work) {
  const auto called = [this] { return stopping_ || nudged_; };
  for (;;) {
    const auto pause = work();
    std::unique_lock lock(mutex_);
    if (pause) {
      wake_.wait_for(lock, *pause, called);
    } else {
      wake_.wait(lock, called);
    }
    if (stopping_) return;
    nudged_ = false;
  }
}

}  // namespace stationer::print
