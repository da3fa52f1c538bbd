// The snapshot that is being taken, or work done with one, as several clients may follow it: one at
// a time, its progress, its outcome. And those that the settings ask for every day.
#pragma once

#include <atomic>
#include <cstdint>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "fs/snapshot_return.h"
#include "fs/volume.h"

namespace stationer::server {

// All calls may come from any thread.
class SnapshotRun {
 public:
  explicit SnapshotRun(fs::Volume& volume) : volume_(volume) {}

  // What was done, in the words of whichever of the two it was.
  struct Outcome {
    fs::Snapshots::Taken taken;
    fs::Returned returned;
  };
  using Result = fs::Result<Outcome>;

  // True for the one who is to do the work, by one of the two calls below, which may take long;
  // false when there is some under way.
  bool begin();
  // Takes a snapshot; where the settings say, when `path` is empty, and then those that need not be
  // kept any more go.
  void take(const fs::Caller& caller, const std::string& path);
  // Brings work back out of a snapshot; see fs/snapshot_return.h.
  void give_back(const fs::Caller& caller, const std::string& path, const fs::ReturnWish& wish);

  bool under_way() const;
  // Of the last one; null while one is under way, or when there was none.
  std::shared_ptr<const Result> outcome() const;
  std::uint64_t done() const { return done_; }
  std::uint64_t all() const { return all_; }

  // What is under way ends soon, with an error, and leaves nothing.
  void stop() { stopping_ = true; }

  // Whether the settings want one now. After one has failed, not before `retry_after` has gone by.
  bool is_due();
  // What the keeper should know of the snapshots, in sentences. Asks the host.
  std::vector<std::string> troubles();

 private:
  static constexpr std::chrono::hours retry_after{1};

  bool tell(std::uint64_t done, std::uint64_t all);
  void end(Result outcome);

  fs::Volume& volume_;
  std::atomic<std::uint64_t> done_{0};
  std::atomic<std::uint64_t> all_{0};
  std::atomic<bool> stopping_{false};
  mutable std::mutex mutex_;
  bool under_way_ = false;
  std::shared_ptr<const Result> outcome_;
  fs::Time failed_{};    // when the last one failed that went where the settings say
  std::string failure_;  // why; empty when the last one did not
};

}  // namespace stationer::server
