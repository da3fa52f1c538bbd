// How a session's coroutines wait for what happens elsewhere: durable saves, and work that blocks.
// The event loop itself is handed in; tests have one that they turn by hand.
#pragma once

#include <coroutine>
#include <functional>
#include <memory>
#include <optional>
#include <utility>

#include "fs/ticket.h"
#include "server/protocol/time.h"
#include "server/task.h"

namespace stationer::server {

// A value that somebody will bring, awaited once. All but the copying is for the loop's thread.
template <class T>
class Later {
 public:
  Later() : shared_(std::make_shared<Shared>()) {}

  // Brings the value and resumes who awaits it. If they are gone, nothing happens.
  void bring(T value) const {
    shared_->value.emplace(std::move(value));
    if (shared_->waiting) std::exchange(shared_->waiting, nullptr).resume();
  }

  auto operator co_await() const {
    struct Awaiter {
      explicit Awaiter(std::shared_ptr<typename Later::Shared> from) : shared(std::move(from)) {}
      Awaiter(const Awaiter&) = delete;
      Awaiter& operator=(const Awaiter&) = delete;
      ~Awaiter() { shared->waiting = nullptr; }
      bool await_ready() const { return shared->value.has_value(); }
      void await_suspend(std::coroutine_handle<> handle) { shared->waiting = handle; }
      T await_resume() { return std::move(*shared->value); }
      std::shared_ptr<typename Later::Shared> shared;
    };
    return Awaiter(shared_);
  }

 private:
  struct Shared {
    std::optional<T> value;
    std::coroutine_handle<> waiting;
  };
  std::shared_ptr<Shared> shared_;
};

// What blocking() gives: a Later that must have a name before it is awaited,
//
//   const auto later = loop.blocking([name] { … });
//   auto result = co_await later;
//
// because GCC 12 copies a lambda byte by byte when it stands in the same expression as co_await,
// and a captured string does not survive that. It does so, too, with structs made from braces,
// which tests/await_rules finds, and with either side of ?:, which nothing here can forbid.
template <class T>
class Named {
 public:
  explicit Named(Later<T> later) : later_(std::move(later)) {}
  auto operator co_await() const& { return later_.operator co_await(); }
  void operator co_await() const&& = delete;

 private:
  Later<T> later_;
};

class Loop {
 public:
  using Job = std::function<void()>;

  virtual ~Loop() = default;
  // Runs the job soon on the loop's thread. May be called from any thread.
  virtual void post(Job job) = 0;
  // Runs the job on another thread, where it may block. At most a few run at once; the others wait
  // their turn.
  virtual void work(Job job) = 0;
  virtual Time now() const = 0;

  // Waits for a change of the store to be durable, or refused.
  Later<fs::Status> durable(const fs::Ticket& ticket) {
    Later<fs::Status> later;
    ticket.then([this, later](const fs::Status& status) {
      post([later, status] { later.bring(status); });
    });
    return later;
  }

  // Runs `job` where it may block, and waits for what it returns. What the job refers to must
  // outlive the wait even if the waiting coroutine does not: hand it copies or shared pointers.
  template <class Work>
  auto blocking(Work job) {
    using T = decltype(job());
    Later<T> later;
    work([this, later, job = std::move(job)]() mutable {
      auto result = std::make_shared<T>(job());
      post([later, result] { later.bring(std::move(*result)); });
    });
    return Named<T>(later);
  }
};

}  // namespace stationer::server
