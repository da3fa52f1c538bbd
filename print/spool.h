// The spool: jobs on their way to being printouts. A job is a folder, and its state is the folder
// that one lies in (invariant 5), so a move is one rename and a crash never loses or doubles a job:
//
//   spool/receiving/NUMBER/   its bytes are coming in; given up at the next start
//   spool/waiting/NUMBER/     acknowledged, to be printed
//   spool/printing/NUMBER/    being printed; back to waiting at the next start
//   spool/held/NUMBER/        waits for its owner or a leader to let it go
//   spool/refused/NUMBER/     can't be printed; says why, and keeps its bytes
//   spool/printed/NUMBER/     is a printout; its bytes are kept for a while, to print it again
//
// Beside them: claim.key, of which the codes of unclaimed printouts are made (print/claim_code.h).
//
// In a job's folder: data, the bytes as they came; job.json, what is known of it (print/job.h);
// while printing, printout.pdf. When that is complete it moves to printouts/YYYY/MM/DD/, a record
// of it goes to the catalogue, and then the job's folder goes.
//
// Nothing of ours puts one number into two states, but who copies folders by hand may: the first of
// them in the order above keeps it when the spool is opened, the others get new ones and are held.
#pragma once

#include <atomic>
#include <condition_variable>
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

#include "fs/volume.h"
#include "print/job.h"
#include "print/queue.h"
#include "print/renderer.h"

namespace stationer::print {

enum class JobState : std::uint8_t { receiving, waiting, printing, held, refused, printed };

const char* state_name(JobState state);

struct JobView {
  Job job;
  JobState state = JobState::waiting;
  // While it is printing: which page is being drawn, 0 before the first, and how many of its bytes
  // were read for that.
  std::uint64_t page = 0;
  std::uint64_t read = 0;
};

class Spool;

// A job being received. Letting it go before finish() leaves nothing of it.
class Incoming {
 public:
  Incoming(Incoming&&) noexcept;
  Incoming& operator=(Incoming&&) = delete;
  ~Incoming();

  // May wait for the disk. Refused when the job grows too large or the disk too full.
  fs::Status write(std::string_view bytes);
  // The job is complete: it is durable when this returns, and will be printed, held or refused.
  // What is only known now, as with LPD's control file, can be set before by describe().
  fs::Result<std::uint32_t> finish();
  void describe(std::string title, fs::AccountId owner, std::string owner_name);
  // finish() will put it among the refused, with this reason. After write() has failed its bytes so
  // far are kept too.
  void refuse(std::string reason);
  // What is known of it so far.
  const Job& job() const { return job_; }

 private:
  friend class Spool;
  Incoming(Spool& spool, Job job, fs::Ticket numbered, std::unique_ptr<fs::HostFile> data);
  fs::Status copy(fs::HostFile& from);
  fs::Result<std::uint32_t> finish_as(JobState state);

  Spool* spool_;  // null once finished or moved from
  Job job_;
  fs::Ticket numbered_;  // its number is its own for ever
  std::unique_ptr<fs::HostFile> data_;
  std::string start_;  // the first bytes, which tell what kind of job it is
  bool refused_ = false;
};

// All calls may come from any thread.
class Spool {
 public:
  static constexpr std::uint64_t largest_job = 64u << 20;  // bytes
  // Of the refused jobs the newest are kept, up to this many and this many bytes in all.
  static constexpr std::size_t most_refused = 100;
  static constexpr std::uint64_t most_refused_bytes = 256u << 20;

  // Puts right what an earlier run left half done. Prints nothing before start() or print_next().
  static fs::Result<std::unique_ptr<Spool>> open(fs::Volume& volume, Queues queues,
                                                 std::unique_ptr<Renderer> renderer);
  ~Spool();

  const Queues& queues() const { return queues_; }

  // Begins a job for a queue; an empty name is the default one. Code::not_found for others.
  fs::Result<Incoming> receive(std::string_view queue, std::string title, fs::AccountId owner,
                               std::string owner_name, std::string source);

  // Every job that is not a printout yet, oldest first. A queue's name, or empty for all.
  std::vector<JobView> jobs(std::string_view queue = {}) const;
  // The same for a caller: that a job is there is no secret, but what it is about and why it does
  // not get on is only for its owner and those who look after them.
  std::vector<JobView> jobs_as_seen(const fs::Caller& caller, std::string_view queue = {}) const;
  bool may_know(const fs::Caller& caller, const Job& job) const;
  std::optional<JobView> job(std::uint32_t number) const;

  // Who may is asked here: its owner where the queue's policy is "owner", its owner's leaders, and
  // managers. Code::bad_input when the job is in no state for it.
  fs::Status hold(const fs::Caller& caller, std::uint32_t number, std::string reason);
  fs::Status release(const fs::Caller& caller, std::uint32_t number);
  fs::Status refuse(const fs::Caller& caller, std::uint32_t number, std::string reason);
  // Takes a job that is not being printed away for good; its owner may too.
  fs::Status cancel(const fs::Caller& caller, std::uint32_t number);
  // To another queue, as if it had just come in there; its owner may too.
  fs::Status send_to(const fs::Caller& caller, std::uint32_t number, std::string_view queue);
  // Prints once more what became a printout or was refused, as a new job, for whom it belongs to
  // now. Its own queue when none is named.
  fs::Result<std::uint32_t> print_again(const fs::Caller& caller, std::uint32_t number,
                                        std::string_view queue = {});
  // Makes one job of several that wait or are held in one queue for one owner, in this order, each
  // on a page of its own. Gives its number.
  fs::Result<std::uint32_t> join(const fs::Caller& caller,
                                 const std::vector<std::uint32_t>& numbers);

  // What an account may still print in a queue; nothing when there is no limit for it.
  std::optional<Allowance> allowance(fs::AccountId account, const Queue& queue) const;

  // The code of an unclaimed printout, as it is told; and the one that somebody has typed.
  std::string code_of(std::uint32_t printout) const;
  std::optional<std::uint32_t> printout_of(std::string_view typed_code) const;

  // Lets go of what was kept to print again and is too old, too much, or of printouts that are
  // gone.
  void drop_old_bytes();
  // What time brings: printouts and kept bytes that are too old go.
  fs::Status do_what_is_due();

  // Prints the oldest waiting job; nothing when none waits. An error is the host's: the job waits
  // on, and is worth another try later.
  fs::Result<std::optional<std::uint32_t>> print_next();

  // Prints what waits and what comes, in a thread of its own.
  void start();
  // Called after each job that became a printout or was refused, from whichever thread did it. It
  // must not call the spool.
  void on_done(std::function<void(const JobView& job, bool printed)> tell);
  // Why printing does not get on, for the keeper; empty when it does.
  std::string trouble() const;

 private:
  friend class Incoming;
  Spool(fs::Volume& volume, Queues queues, std::unique_ptr<Renderer> renderer);
  fs::Status recover();
  JobView as_it_is(JobView view) const;
  struct Found;
  Found read_found(JobState state, std::uint32_t number);
  fs::Status renumber(Found second);
  fs::Status recover_claim_key();
  fs::Status accept(Job& job, fs::HostFile& data, JobState state);
  JobState admit(Job& job, std::string_view start) const;
  void drop_old_refusals();
  fs::Status lay_aside(const Job& job);
  void thin_bytes();
  fs::Status forget_joined(const Job& job);
  fs::Result<JobView> to_print_again(const fs::Caller& caller, std::uint32_t number) const;
  void abandon(std::uint32_t number);
  fs::Status move(const Job& job, JobState from, JobState to);
  fs::Status move_folder(const fs::HostPath& from, const fs::HostPath& to);
  fs::Status move_with_reason(Job job, JobState from, JobState to, std::string reason);
  fs::Status discard(const Job& job, JobState state);
  fs::Result<std::optional<Job>> take_waiting();
  fs::Status print(Job& job, const Queue& queue);
  fs::Status number_parts(Job& job, std::size_t count);
  fs::Status remove_files(const fs::HostPath& folder);
  fs::Status may_handle(const fs::Caller& caller, const Job& job, bool owner_may) const;
  fs::Result<JobView> handled(const fs::Caller& caller, std::uint32_t number, bool owner_may) const;
  void print_loop();
  void told(const JobView& job, bool printed);
  fs::HostPath folder(JobState state, std::uint32_t number) const;

  fs::Volume& volume_;
  fs::HostFiles& files_;
  Queues queues_;
  const std::unique_ptr<Renderer> renderer_;

  mutable std::mutex mutex_;
  std::mutex moving_mutex_;  // held while a job changes its state; taken before mutex_
  std::condition_variable wake_;
  std::map<std::uint32_t, JobView> jobs_;
  std::map<std::uint32_t, Job> kept_;  // what was printed, as long as its bytes are there
  std::uint32_t last_number_ = 0;      // that a job was given
  std::string claim_key_;
  std::string trouble_;
  // Of the job that is being printed. Without the lock, since the process that prints it may tell
  // as often as it likes.
  std::atomic<std::uint64_t> page_{0};
  std::atomic<std::uint64_t> read_{0};
  std::function<void(const JobView&, bool)> tell_;
  bool stopping_ = false;
  std::thread thread_;
};

}  // namespace stationer::print
