// A coroutine that runs when it is awaited, on the thread that resumes it: how a session's work is
// written as plain steps with waits between them. It knows no event loop; what it waits for is a
// Later (server/loop.h). Destroying a task destroys what it awaits, so that a station that hangs
// up leaves nothing running. A task must not be destroyed from inside itself.
//
// Awaiting is an ordinary call until the first wait, and resuming an ordinary call after it. To
// hand control from one coroutine to the next instead (symmetric transfer) only keeps the stack
// flat where the compiler makes tail calls of it, which GCC does not without optimisation or under
// the sanitizers (GCC bug 100897): a loop over tasks that need not wait would then end the process.
#pragma once

#include <coroutine>
#include <exception>
#include <optional>
#include <utility>

namespace stationer::server {

template <class T = void>
class Task;

namespace detail {

struct PromiseBase {
  std::coroutine_handle<> waiting;  // who awaits this task, once it had to wait
  std::exception_ptr thrown;

  struct Final {
    bool await_ready() const noexcept { return false; }
    template <class Promise>
    void await_suspend(std::coroutine_handle<Promise> done) const noexcept {
      // The last thing done here: who is resumed lets the finished task go.
      if (const auto waiting = done.promise().waiting) waiting.resume();
    }
    void await_resume() const noexcept {}
  };

  std::suspend_always initial_suspend() const noexcept { return {}; }
  Final final_suspend() const noexcept { return {}; }
  void unhandled_exception() { thrown = std::current_exception(); }
};

template <class T>
struct Promise : PromiseBase {
  std::optional<T> value;
  Task<T> get_return_object();
  template <class From>
  void return_value(From&& from) {
    value.emplace(std::forward<From>(from));
  }
  T take() {
    if (thrown) std::rethrow_exception(thrown);
    return std::move(*value);
  }
};

template <>
struct Promise<void> : PromiseBase {
  Task<void> get_return_object();
  void return_void() const {}
  void take() const {
    if (thrown) std::rethrow_exception(thrown);
  }
};

}  // namespace detail

template <class T>
class [[nodiscard]] Task {
 public:
  using promise_type = detail::Promise<T>;
  using Handle = std::coroutine_handle<promise_type>;

  Task() = default;
  explicit Task(Handle handle) : handle_(handle) {}
  Task(Task&& other) noexcept : handle_(std::exchange(other.handle_, nullptr)) {}
  Task& operator=(Task&& other) noexcept {
    std::swap(handle_, other.handle_);
    return *this;
  }
  ~Task() {
    if (handle_) handle_.destroy();
  }

  // For a task that nobody awaits: runs it until its first wait.
  void start() { handle_.resume(); }
  bool done() const { return !handle_ || handle_.done(); }
  // The result of a done task; throws what it threw.
  T take() { return handle_.promise().take(); }

  auto operator co_await() && {
    struct Awaiter {
      Handle handle;
      bool await_ready() const noexcept { return false; }
      bool await_suspend(std::coroutine_handle<> waiting) {
        handle.resume();
        if (handle.done()) return false;  // it never had to wait: go on at once
        handle.promise().waiting = waiting;
        return true;
      }
      T await_resume() { return handle.promise().take(); }
    };
    return Awaiter{handle_};
  }

 private:
  Handle handle_;
};

namespace detail {

template <class T>
Task<T> Promise<T>::get_return_object() {
  return Task<T>(Task<T>::Handle::from_promise(*this));
}
inline Task<void> Promise<void>::get_return_object() {
  return Task<void>(Task<void>::Handle::from_promise(*this));
}

}  // namespace detail

}  // namespace stationer::server
