// The catalogue: every row of fs/records.h in one SQLite database, in WAL mode with
// synchronous=FULL. It is behind the commit log by what has not been settled yet; `settled()` tells
// which commit it stands at, and moves in the same transaction as the rows.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "fs/journal.h"
#include "fs/records.h"
#include "fs/result.h"

namespace stationer::fs {

// All calls may come from any thread.
class Catalog {
 public:
  // Makes a new database at `path` (a host path outside all checks: the volume's own).
  static Result<std::unique_ptr<Catalog>> create(const std::string& path);
  // Code::newer_format for a database written by a newer program, which is then left untouched. One
  // of an older format becomes one of ours.
  static Result<std::unique_ptr<Catalog>> open(const std::string& path);
  // Opens a database that copy_to() made, of any format up to ours, only to read it.
  static Result<std::unique_ptr<Catalog>> open_copy(const std::string& path);
  ~Catalog();

  // Calls use() for every row but digests and journal entries.
  Status load(const std::function<void(Record)>& use);

  // The number of the last commit whose rows are here.
  Result<std::uint64_t> settled();
  // Applies changes in order, in one transaction that also sets settled() to `number`. Either all
  // of it is there afterwards, durably, or nothing.
  Status apply(std::span<const Change* const> changes, std::uint64_t number);

  // Writes a database with all rows as of one commit, and nothing of what was deleted before, to a
  // new file. Changes go on meanwhile.
  Status copy_to(const std::string& path);

  Result<std::optional<Hash>> digest(ContentId content);
  Status each_digest(const std::function<void(const Digest&)>& use);
  Result<std::vector<JournalEntry>> journal(const JournalQuery& query);  // newest first
  Result<std::uint64_t> last_journal_id();
  // Every entry in the order of numbers, after head(), of one moment. Nothing else can use the
  // catalogue meanwhile.
  Status whole_journal(const std::function<void(const JournalHead&)>& head,
                       const std::function<void(const JournalEntry&)>& use);
  // The newest of the entries that are older than `before` or beyond the `most` newest; nothing
  // when there are none.
  Result<std::optional<JournalEntry>> newest_surplus(std::uint64_t most,
                                                     std::optional<Time> before);

  // What SQLite's own checks find wrong; empty when nothing is.
  Result<std::vector<std::string>> integrity();

 private:
  struct Impl;
  explicit Catalog(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace stationer::fs
