// The store's inside: the state in memory, its lock, and the way from a change to the disk. Files,
// People and Desk are written on it; nobody else uses it.
#pragma once

#include <atomic>
#include <deque>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <shared_mutex>
#include <span>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include "fs/access.h"
#include "fs/caller.h"
#include "fs/committer.h"
#include "fs/content.h"
#include "fs/host_files.h"
#include "fs/state.h"
#include "fs/ticket.h"

namespace stationer::fs {

// Where a content or a printout is kept aside that was removed during a hold.
HostPath held_path(ContentId content);
HostPath held_path(const Printout& printout);

// A change being made, under the state's exclusive lock. Rows are applied to the state at once;
// what asks for an error takes them all back.
class Transaction {
 public:
  Transaction(State& state, Time now, const Hash& secret, bool holding);

  const State& state() const { return state_; }
  Time now() const { return now_; }

  void put(Record record);
  void drop(Record record);
  void deed(Deed deed);
  // Takes a file away for good; while there is a hold, it is kept aside as `held` until that ends.
  void remove_file(HostPath path, HostPath held);
  // Adds to the journal, at the end of its chain: changes are made one after the other and logged
  // in that order, and one that fails takes its entries and the chain's end back with it. Gives the
  // entry's number.
  std::uint64_t journal(const Caller& caller, std::string what, std::string subject,
                        std::string detail = "");

  NodeId free_node() { return state_.tree.free_id(); }
  // The next number of a series, which nothing ever had.
  std::uint32_t next_number(Series series);

 private:
  friend class Engine;
  void apply(Change change);
  void undo();

  State& state_;
  Time now_;
  const Hash& secret_;
  bool holding_;
  SubmissionPtr submission_;
};

class Engine {
 public:
  struct Parts {
    std::unique_ptr<HostFiles> files;
    std::unique_ptr<Catalog> catalog;
    Clock clock;
    std::uint64_t seed = 0;     // for the name table
    Hash secret{};              // for the journal's salts
    std::uint64_t reserve = 0;  // bytes of disk kept free for the keeper
    bool accept_loss = false;   // open even if changes in the commit log can't be read any more
  };
  // Reads the catalogue and the log, and settles what the log holds.
  static Result<std::unique_ptr<Engine>> open(Parts parts);
  ~Engine();

  // use(const State&) under the shared lock; what it returns must not refer to the state.
  template <class Use>
  auto read(Use use) const {
    const std::shared_lock lock(state_mutex_);
    return use(std::as_const(state_));
  }

  // make(Transaction&) -> Status under the exclusive lock. An error leaves all as it was.
  Ticket change(const std::function<Status(Transaction&)>& make);

  // Opens the content of the file, or the former content, that `which` finds, at the moment it is
  // found.
  Result<Content> open_content(const std::function<Result<NodeId>(const State&)>& which);
  Result<Content> open_version(const std::function<Result<Version>(const State&)>& which);

  // As long as there is a hold, nothing goes that the catalogue tells of at any moment after hold()
  // has returned: what is removed for good lies in held/ until then. Changes go on.
  class Hold {
   public:
    explicit Hold(Engine& engine) : engine_(&engine) {}
    Hold(Hold&& other) noexcept : engine_(std::exchange(other.engine_, nullptr)) {}
    Hold& operator=(Hold&&) = delete;
    ~Hold() {
      if (engine_ != nullptr) engine_->end_hold();
    }

   private:
    Engine* engine_;
  };
  Result<Hold> hold();  // Code::busy when there is one
  bool is_held() const { return being_held_; }
  // Opens what the catalogue told of during the hold, wherever it lies by now.
  Result<Content> open_held(NodeId node, ContentId content);
  Result<Content> open_held(const Printout& printout);

  ContentId new_content() { return ContentId{next_content_++}; }
  HostFiles& files() { return *parts_.files; }
  Catalog& catalog() { return *parts_.catalog; }
  Time now() const { return parts_.clock(); }

  // Refuses when writing `bytes` more would eat into the keeper's reserve.
  Status check_space(std::uint64_t bytes);
  Result<HostSpace> space();  // without the reserve
  std::uint64_t reserve() const { return parts_.reserve; }

  Status drain() { return committer_->drain(); }
  std::vector<std::string> troubles() const;
  // What was lost in opening with accept_loss, in a sentence.
  const std::optional<std::string>& loss() const { return loss_; }

  // Counts afresh what every account owns.
  void recount();

  // For use within read() and change(): whether the host does not have a content in its place yet,
  // and whether something is still to be moved to or from a place, or below or above it.
  bool is_unplaced(ContentId content) const { return unplaced_.count(number(content)) != 0; }
  bool awaits_move(const HostPath& path) const;
  // The same with folders still to be made there and files still to be removed.
  bool is_under_way(const HostPath& path) const;

  // Where a node's file or folder lies on the host, by its name.
  static HostPath host_path(const State& state, NodeId node);

 private:
  explicit Engine(Parts parts);
  Status recover();
  void submitted(const Submission& submission);
  void failed(std::vector<SubmissionPtr> submissions, const Error& why);
  Status do_deeds(std::span<const Deed* const> deeds, const std::function<Status()>& act);
  void settled(const std::vector<SubmissionPtr>& submissions);
  void forget(const Deed& deed);
  HostPath located(HostPath path) const;
  void end_hold();
  Status empty_folder(const HostPath& folder);
  Status accept_loss(CommitLog& log);
  struct Lying {  // a content, and where it will be once all is settled
    ContentId content{};
    HostPath path;
  };
  Result<Content> open_lying(const std::function<Result<Lying>(const State&)>& which);

  Parts parts_;
  // Held shared to open a file by its path, exclusively to move what lies on the path. Taken before
  // state_mutex_ by those who need both.
  std::shared_mutex place_mutex_;
  mutable std::shared_mutex state_mutex_;
  State state_;
  // Contents that are not under their names yet; null: in incoming/.
  std::unordered_map<std::uint64_t, std::shared_ptr<const std::string>> unplaced_;
  // Moves that the state knows of and the host does not yet, oldest first, each with its turn among
  // all moves; those of replaced contents by where they will lie, because there may be thousands.
  struct Outstanding {
    std::uint64_t turn = 0;
    const MovePath* move = nullptr;
  };
  std::deque<Outstanding> outstanding_moves_;
  std::unordered_map<std::string, Outstanding> outstanding_asides_;
  std::uint64_t next_turn_ = 0;
  // Folders still to be made and things still to be removed, by their paths.
  std::unordered_multimap<std::string, const Deed*> outstanding_places_;
  std::atomic<bool> being_held_ = false;  // there is a hold, or the end of one
  bool holding_ = false;                  // what is removed is kept aside
  std::atomic<std::uint64_t> next_content_{1};
  std::vector<std::string> opening_troubles_;
  std::optional<std::string> loss_;
  std::unique_ptr<Committer> committer_;
};

}  // namespace stationer::fs
