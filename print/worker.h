// A thread that does one piece of work again and again: when it is nudged, and when the work itself
// says that it is time.
#pragma once

#include <chrono>
#include <condition_variable>
#include <functional>
#include <mutex>
#include <optional>
#include <thread>

namespace stationer::print {

// All calls may come from any thread.
class Worker {
 public:
  // Tells after how long it is to be done again if nobody nudges; nothing: not before somebody
  // does.
  using Work = std::function<std::optional<std::chrono::seconds>()>;

  Worker() = default;
  Worker(const Worker&) = delete;
  Worker& operator=(const Worker&) = delete;
  ~Worker() { stop(); }

  // Once. The work is done at once.
  void start(Work work);
  bool started() const;
  void nudge();
  // Waits for what is being done, which can ask whether it should end early.
  void stop();
  bool stopping() const;

 private:
  void loop(const Work& work);

  mutable std::mutex mutex_;
  std::condition_variable wake_;
  bool nudged_ = false;
  bool stopping_ = false;
  std::thread thread_;
};

}  // namespace stationer::print
