// A thread that adopts what the host's owner does under files/, soon after it was done.
//
// It waits until nothing has happened for `quiet`, so that a copy of many files is looked at once
// it is there, though never longer than `longest_wait` while the room saves and saves: what we
// settle ourselves is told by the host, too. Then it looks at just the folders in which something
// happened. What cannot be taken in yet, because it is being written, is looked at again.
#pragma once

#include <atomic>
#include <chrono>
#include <condition_variable>
#include <functional>
#include <memory>
#include <mutex>
#include <set>
#include <string>
#include <thread>
#include <vector>

#include "fs/adoption.h"
#include "fs/host_files.h"
#include "fs/host_watch.h"

namespace stationer::fs {

class Watcher {
 public:
  static constexpr std::chrono::milliseconds quiet{500};
  static constexpr std::chrono::seconds longest_wait{5};
  static constexpr std::chrono::seconds again_after{2};
  // All is compared now and then, for what no watch tells of, such as a disk mounted over a folder;
  // more often when the host has no more watches.
  static constexpr std::chrono::minutes compare_every{60};
  static constexpr std::chrono::minutes compare_unwatched_every{10};

  using Then = std::function<void(const Result<Adopted>&)>;

  // Looks at everything once, and then watches if `watching`. All of it must outlive the watcher.
  Watcher(HostFiles& files, Adoption& adoption, const std::string& directory, bool watching,
          Then then);
  ~Watcher();

  // Why changes are not noticed at once, if so.
  std::vector<std::string> troubles() const;

 private:
  using Clock = std::chrono::steady_clock;
  static constexpr std::size_t most_touched = 10'000;  // then it is everything

  void run();
  void watch_all();
  void watch_below(const HostPath& folder, int depth);
  void take(const HostWatch::Seen& seen);
  void touch(const HostPath& folder, Clock::time_point now);
  void touch_all(Clock::time_point now);
  void look();
  Clock::time_point next_look() const;
  void out_of_watches(const Error& why);

  HostFiles& files_;
  Adoption& adoption_;
  std::unique_ptr<HostWatch> watch_;
  Then then_;
  const bool watching_;
  bool all_ = true;
  std::set<HostPath> touched_;
  Clock::time_point first_{};  // touch since the last look
  Clock::time_point last_{};
  bool unwatched_ = false;  // some of it, or all
  Clock::time_point next_comparison_{};
  std::atomic<bool> stopping_{false};
  mutable std::mutex mutex_;
  std::condition_variable stopped_;
  std::string trouble_;
  std::thread thread_;
};

}  // namespace stationer::fs
