// Notices, trays of printouts, and the journal.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "fs/caller.h"
#include "fs/ids.h"
#include "fs/journal.h"
#include "fs/records.h"
#include "fs/result.h"
#include "fs/ticket.h"

namespace stationer::fs {

class Engine;

struct NoticeView {
  std::uint32_t id = 0;
  std::string from;
  Time sent{};
  std::string text;
};

struct PrintoutView {
  std::uint32_t job = 0;
  std::string owner;  // the account's name; empty: unclaimed
  std::string queue;
  std::string title;
  std::string source;
  std::uint32_t pages = 0;
  std::uint64_t bytes = 0;
  Time printed{};
  std::string path;  // host path inside the volume
  bool seen = false;
};

class Desk {
 public:
  static constexpr std::size_t longest_notice = 240;  // characters
  static constexpr std::size_t most_notices = 100;    // waiting for one account

  explicit Desk(Engine& engine, JournalLimits journal = {})
      : engine_(engine), journal_limits_(journal) {}

  // Leaves a notice for an account, for a class ("@NAME", leaders of it and managers only) or for
  // everybody ("@all", managers only). Guests can't.
  Ticket send_notice(const Caller& caller, std::string_view to, std::string_view text);
  std::vector<NoticeView> notices(const Caller& caller) const;  // the caller's own, oldest first
  Ticket drop_notices(const Caller& caller, const std::vector<std::uint32_t>& ids);

  // The spool's part: the printouts of a job are there, all at once. Doing it again for the same
  // job changes nothing.
  Ticket add_printouts(const std::vector<Printout>& printouts);
  bool has_printout(std::uint32_t job) const;
  // What an account has printed in a queue since a moment, of the printouts that are still there.
  std::uint64_t pages_printed(AccountId owner, std::string_view queue, Time since) const;
  // Those in the caller's tray; with all = true every tray's and the unclaimed (managers; others
  // get what is theirs and their classes'). Newest first.
  std::vector<PrintoutView> printouts(const Caller& caller, bool all) const;
  Result<PrintoutView> printout(const Caller& caller, std::uint32_t job) const;
  // Those that belong to nobody yet, newest first, for whoever may tell their codes: leaders and
  // managers. Code::denied for others.
  Result<std::vector<PrintoutView>> unclaimed(const Caller& caller) const;
  // Makes an unclaimed printout the caller's own, who has shown its code (print/claim_code.h).
  Ticket claim_printout(const Caller& caller, std::uint32_t job);
  Ticket mark_seen(const Caller& caller, const std::vector<std::uint32_t>& jobs);
  // Gives an unclaimed printout, or any, to an account (managers).
  Ticket give_printout(const Caller& caller, std::uint32_t job, std::string_view account);
  // Takes the record and the PDF away.
  Ticket discard_printout(const Caller& caller, std::uint32_t job);
  // Takes away printouts that are older than `before`, with an entry in the journal for each; gives
  // how many. Waits for the disk.
  Result<std::size_t> retire_printouts(Time before);
  // The spool's numbers for its jobs: once the ticket is settled no other job will ever have this
  // one or a lower one, whatever becomes of the job.
  Ticket take_job_number(std::uint32_t job);
  std::uint32_t last_job() const;  // the highest number that was taken

  // Adds an entry that stands for no other change.
  Ticket note(const Caller& caller, std::string what, std::string subject, std::string detail = "");
  // Newest first. Waits until what was done so far is in the catalogue.
  Result<std::vector<JournalEntry>> journal(const JournalQuery& query);
  // Compares the journal with its chain (fs/journal.h).
  Result<JournalReport> verify_journal();
  // Lets the oldest entries fall off that are more than is to be kept, and says so in an entry.
  Status shorten_journal();

 private:
  Engine& engine_;
  JournalLimits journal_limits_;
};

}  // namespace stationer::fs
