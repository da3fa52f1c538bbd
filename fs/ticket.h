// What a change of the store gives back: the promise that it will be durable, or why it can't be.
#pragma once

#include <condition_variable>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <utility>
#include <vector>

#include "fs/result.h"

namespace stationer::fs {

// Copies share one outcome. Letting a ticket go does not take the change back.
class Ticket {
 public:
  using Then = std::function<void(const Status&)>;

  Ticket() : shared_(std::make_shared<Shared>()) {}
  Ticket(Error error) : Ticket() { settle(std::move(error)); }  // refused: nothing was changed

  // Waits for the outcome.
  Status wait() const {
    std::unique_lock lock(shared_->mutex);
    shared_->settled.wait(lock, [&] { return shared_->outcome.has_value(); });
    return *shared_->outcome;
  }

  // Calls `then` once with the outcome: at once if it is known, else from the thread that brings
  // it, which it must not hold up.
  void then(Then then) const {
    std::unique_lock lock(shared_->mutex);
    if (!shared_->outcome) {
      shared_->waiting.push_back(std::move(then));
      return;
    }
    lock.unlock();
    then(*shared_->outcome);
  }

  void settle(Status outcome) const {
    std::vector<Then> waiting;
    {
      const std::lock_guard lock(shared_->mutex);
      shared_->outcome = std::move(outcome);
      waiting.swap(shared_->waiting);
    }
    shared_->settled.notify_all();
    for (const auto& then : waiting) then(*shared_->outcome);
  }

 private:
  struct Shared {
    std::mutex mutex;
    std::condition_variable settled;
    std::optional<Status> outcome;
    std::vector<Then> waiting;
  };
  std::shared_ptr<Shared> shared_;
};

}  // namespace stationer::fs
