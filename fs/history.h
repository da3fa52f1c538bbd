// What files had in them before they were replaced, and how long that and the bin are kept.
#pragma once

#include <cstdint>
#include <mutex>
#include <optional>
#include <string>
#include <vector>

#include "fs/caller.h"
#include "fs/content.h"
#include "fs/files.h"
#include "fs/ids.h"
#include "fs/path.h"
#include "fs/records.h"
#include "fs/result.h"
#include "fs/retention.h"
#include "fs/ticket.h"

namespace stationer::fs {

class Engine;
class State;
class Transaction;

// A content that a file had once.
struct VersionView {
  ContentId id{};
  std::uint64_t size = 0;
  Kind kind = Kind::data;
  std::optional<std::uint32_t> load_address;
  std::optional<std::uint32_t> entry_point;
  Time saved{};
  Time replaced{};
  std::string replaced_by;  // an account's name, or "the keeper"
};

class History {
 public:
  History(Engine& engine, Files& files, Retention retention)
      : engine_(engine), files_(files), retention_(retention) {}

  // A file's former contents, newest first. For those who may do what its owner may.
  Result<std::vector<VersionView>> versions(const Caller& caller, const Path& file) const;
  Result<Content> read(const Caller& caller, const Path& file, ContentId version) const;
  // Saves a former content as the file's newest one; what it has now becomes a version in turn.
  // Reads and writes, so it may wait for the disk.
  Ticket restore(const Caller& caller, const Path& file, ContentId version);

  // Takes away for good what is kept no longer, the oldest first, and at most `most` of it; gives
  // how many that were.
  Result<std::size_t> thin(std::size_t most = 200);
  // The same for who asks every minute. Looks at all of the past only once an hour, for as long as
  // there was more to take, and whenever the disk runs short: nothing else is urgent.
  Result<std::size_t> thin_when_due();

 private:
  static constexpr std::chrono::hours pause{1};

  Result<std::uint64_t> shortage();  // bytes that the disk ought to have free
  Result<Version> find_version(const State& state, const Caller& caller, const Path& file,
                               ContentId version) const;

  Engine& engine_;
  Files& files_;
  Retention retention_;
  std::mutex mutex_;
  std::optional<Time> next_look_;
};

// For Files, History, Leavers and Visitors: a file's versions, oldest first.
std::vector<Version> versions_of(const State& state, NodeId node);
// Takes a file with all its versions, or an empty folder, away for good, wherever it is.
void purge_node(Transaction& change, NodeId id);
// The same with all that is below it.
void purge_below(Transaction& change, NodeId top);
// Takes a removal out of the bin for good, with everything below it and all its versions.
void purge_removal(Transaction& change, NodeId top);

}  // namespace stationer::fs
