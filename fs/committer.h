// Two threads that make changes durable: one appends what is submitted to the commit log, many
// commits to one wait for the disk, and acknowledges them; the other settles what is logged.
#pragma once

#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <span>
#include <string>
#include <thread>
#include <vector>

#include "fs/catalog.h"
#include "fs/commit.h"
#include "fs/commit_log.h"
#include "fs/host_files.h"
#include "fs/log_format.h"
#include "fs/settle.h"
#include "fs/ticket.h"

namespace stationer::fs {

// A change on its way. `undo` takes it back in memory, last first.
struct Submission {
  Commit commit;
  std::vector<Change> undo;
  Ticket ticket;
};
using SubmissionPtr = std::shared_ptr<Submission>;

class Committer {
 public:
  struct Hooks {
    // The commits could not be logged: take them back, and everything submitted after them, which
    // take_queue() hands over. The tickets are settled by the hook.
    std::function<void(std::vector<SubmissionPtr> failed, const Error& why)> failed;
    // Around each deed of settling; see SettleEvents.
    std::function<Status(std::span<const Deed* const>, const std::function<Status()>&)> while_deeds;
    // These are in the catalogue and in files/ now.
    std::function<void(const std::vector<SubmissionPtr>&)> settled;
  };
  // Settling waits until nothing was logged for `quiet`, so that it takes nothing from a flood of
  // saves and several share one sync; but never longer than `longest_wait`, nor when more than
  // `eager_settling` bytes wait.
  static constexpr std::chrono::milliseconds quiet{20};
  static constexpr std::chrono::milliseconds longest_wait{1000};
  static constexpr std::size_t eager_settling = 64u << 20;
  // Beyond this many bytes waiting to be settled, acknowledging waits for settling.
  static constexpr std::size_t most_unsettled = 128u << 20;

  Committer(HostFiles& files, Catalog& catalog, std::unique_ptr<CommitLog> log, Hooks hooks);
  ~Committer();  // logs and settles what is left

  // Must be called in the order in which the changes were made in memory.
  void submit(SubmissionPtr submission);
  std::vector<SubmissionPtr> take_queue();

  // Waits until everything submitted so far is settled, or settling fails. What is submitted
  // meanwhile is not waited for.
  Status drain();

  // What the keeper should know: why settling fails, or what it found on the host.
  std::vector<std::string> troubles() const;
  std::size_t unsettled_bytes() const;

 private:
  void log_loop();
  void settle_loop();
  bool log_some(std::unique_lock<std::mutex>& lock);
  bool settle_some(std::unique_lock<std::mutex>& lock);
  void add_trouble(std::string words);

  HostFiles& files_;
  Catalog& catalog_;
  std::unique_ptr<CommitLog> log_;
  std::mutex log_mutex_;
  std::string frame_;  // what was written last, for its memory
  Hooks hooks_;

  mutable std::mutex mutex_;
  std::condition_variable to_log_;
  std::condition_variable to_settle_;
  std::condition_variable progress_;
  std::deque<SubmissionPtr> queue_;
  std::deque<SubmissionPtr> unsettled_;
  std::size_t unsettled_bytes_ = 0;
  std::size_t logging_ = 0;  // submissions between the two queues
  std::size_t draining_ = 0;
  std::uint64_t submitted_ = 0;  // ever
  std::uint64_t ended_ = 0;      // of those: settled, or failed
  bool stopping_ = false;
  bool log_stopped_ = false;
  Status settle_status_;
  std::deque<std::string> troubles_;
  std::chrono::steady_clock::time_point oldest_unsettled_;
  std::chrono::steady_clock::time_point last_logged_;

  std::thread log_thread_;
  std::thread settle_thread_;
};

}  // namespace stationer::fs
