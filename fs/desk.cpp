#include "fs/desk.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/account.h"
#include "fs/crypto.h"
#include "fs/engine.h"
#include "fs/local_time.h"
#include "fs/rights.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr std::size_t retired_at_once = 100;  // printouts, in one commit

PrintoutView view_of(const State& state, const Printout& printout) {
  const Account* owner = state.account(printout.owner);
  return {printout.job,    owner == nullptr ? "" : owner->name,
          printout.queue,  printout.title,
          printout.source, printout.pages,
          printout.bytes,  printout.printed,
          printout.path,   printout.seen};
}

bool may_have(const State& state, const Caller& caller, const Printout& printout) {
  if (is_manager(state, caller)) return true;
  if (caller.account == no_account || printout.owner == no_account) return false;
  return printout.owner == caller.account || state.leads(caller.account, printout.owner);
}

// Of a printout, the record and the PDF.
Status take_away(Transaction& change, const Printout& printout) {
  auto path = HostPath::from_record(printout.path);
  if (!path) return path.error();
  change.remove_file(*path, held_path(printout));
  change.drop(Printout(printout));
  return {};
}

void take_job(Transaction& change, std::uint32_t job) {
  if (job > change.state().last_number(Series::job)) change.put(LastNumber{Series::job, job});
}

Error no_printout(std::uint32_t job) {
  return {Code::not_found, fmt::format("There is no printout {}.", job)};
}

// Whoever looks after members helps those who stand at the machine.
bool may_tell_codes(const State& state, const Caller& caller) {
  if (is_manager(state, caller)) return true;
  const Account* account = state.account(caller.account);
  if (account == nullptr) return false;
  return account->role == Role::leader ||
         std::any_of(state.memberships.begin(), state.memberships.end(), [&](const auto& each) {
           return each.second.account == caller.account && each.second.leader;
         });
}

// The printout if the caller may have it.
Result<Printout> wanted(const State& state, const Caller& caller, std::uint32_t job) {
  const auto found = state.printouts.find(job);
  if (found == state.printouts.end() || !may_have(state, caller, found->second))
    return no_printout(job);
  return found->second;
}

}  // namespace

Ticket Desk::send_notice(const Caller& caller, std::string_view to, std::string_view text) {
  if (auto fine = check_line(text, longest_notice, "The notice"); !fine) return fine.error();
  if (text.empty()) return Error{Code::bad_input, "There is nothing in the notice."};
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    const bool manager = is_manager(state, caller);
    const Account* sender = state.account(caller.account);
    if (sender == nullptr && !caller.keeper) {
      return Error{Code::denied, "Sign in first: a notice needs a sender."};
    }
    std::vector<AccountId> receivers;
    const std::string name = ascii_lower(to);
    if (name == "@all") {
      if (!manager) return Error{Code::denied, "Only a manager may send a notice to everybody."};
      for (const auto& [id, account] : state.accounts) {
        if (!account.closed) receivers.push_back(id);
      }
    } else if (name.starts_with('@')) {
      const Class* klass = state.class_of(name.substr(1));
      if (klass == nullptr) {
        return Error{Code::not_found,
                     fmt::format("There is no class {}.", clip(name.substr(1), 40))};
      }
      const Membership* own = state.membership(klass->id, caller.account);
      if (!manager && (own == nullptr || !own->leader)) {
        return Error{Code::denied, "Only a leader of the class may send it a notice."};
      }
      for (const auto& [key, row] : state.memberships) {
        if (row.klass == klass->id) receivers.push_back(row.account);
      }
    } else {
      const Account* account = state.account(name);
      if (account == nullptr || account->closed) {
        return Error{Code::not_found, fmt::format("There is no account {}.", clip(name, 40))};
      }
      receivers.push_back(account->id);
    }
    for (const AccountId receiver : receivers) {
      const auto waiting =
          std::count_if(state.notices.begin(), state.notices.end(),
                        [&](const auto& each) { return each.second.to == receiver; });
      if (static_cast<std::size_t>(waiting) >= most_notices) {
        if (receivers.size() > 1)
          continue;  // one full pigeon-hole must not stop the others' notice
        return Error{Code::over_quota,
                     fmt::format("{} has too many unread notices.", clip(name, 40))};
      }
      Notice notice;
      notice.id = change.next_number(Series::notice);
      notice.to = receiver;
      notice.from = sender == nullptr ? "the keeper" : sender->name;
      notice.sent = change.now();
      notice.text = text;
      change.put(std::move(notice));
    }
    return {};
  });
}

std::vector<NoticeView> Desk::notices(const Caller& caller) const {
  return engine_.read([&](const State& state) {
    std::vector<NoticeView> out;
    if (caller.account == no_account) return out;
    for (const auto& [id, notice] : state.notices) {
      if (notice.to == caller.account) out.push_back({id, notice.from, notice.sent, notice.text});
    }
    return out;
  });
}

Ticket Desk::drop_notices(const Caller& caller, const std::vector<std::uint32_t>& ids) {
  return engine_.change([&](Transaction& change) -> Status {
    for (const auto id : ids) {
      const auto found = change.state().notices.find(id);
      if (found == change.state().notices.end() || found->second.to != caller.account) continue;
      change.drop(Notice(found->second));
    }
    return {};
  });
}

Ticket Desk::add_printouts(const std::vector<Printout>& printouts) {
  return engine_.change([&](Transaction& change) -> Status {
    for (const Printout& printout : printouts) {
      if (change.state().printouts.count(printout.job) != 0) continue;
      Printout added = printout;
      if (change.state().account(added.owner) == nullptr) added.owner = no_account;
      take_job(change, added.job);
      change.put(std::move(added));
    }
    return {};
  });
}

bool Desk::has_printout(std::uint32_t job) const {
  return engine_.read([&](const State& state) { return state.printouts.count(job) != 0; });
}

std::uint64_t Desk::pages_printed(AccountId owner, std::string_view queue, Time since) const {
  return engine_.read([&](const State& state) {
    std::uint64_t pages = 0;
    for (const auto& [job, printout] : state.printouts) {
      if (printout.owner == owner && printout.queue == queue && printout.printed >= since) {
        pages += printout.pages;
      }
    }
    return pages;
  });
}

Result<std::vector<PrintoutView>> Desk::unclaimed(const Caller& caller) const {
  return engine_.read([&](const State& state) -> Result<std::vector<PrintoutView>> {
    if (!may_tell_codes(state, caller)) {
      return Error{Code::denied, "Only leaders and managers see what nobody has claimed."};
    }
    std::vector<PrintoutView> out;
    for (auto each = state.printouts.rbegin(); each != state.printouts.rend(); ++each) {
      if (each->second.owner == no_account) out.push_back(view_of(state, each->second));
    }
    return out;
  });
}

Ticket Desk::claim_printout(const Caller& caller, std::uint32_t job) {
  return engine_.change([&](Transaction& change) -> Status {
    const Account* account = change.state().account(caller.account);
    if (account == nullptr) {
      return Error{Code::denied, "Sign in first: a printout needs somebody whose it is."};
    }
    const auto found = change.state().printouts.find(job);
    if (found == change.state().printouts.end() || found->second.owner != no_account) {
      return no_printout(job);
    }
    Printout printout = found->second;
    printout.owner = account->id;
    printout.seen = false;
    change.journal(caller, "printout claimed", fmt::format("{}", job));
    change.put(std::move(printout));
    return {};
  });
}

std::vector<PrintoutView> Desk::printouts(const Caller& caller, bool all) const {
  return engine_.read([&](const State& state) {
    std::vector<PrintoutView> out;
    for (auto each = state.printouts.rbegin(); each != state.printouts.rend(); ++each) {
      const Printout& printout = each->second;
      const bool own = caller.account != no_account && printout.owner == caller.account;
      if (own || (all && may_have(state, caller, printout)))
        out.push_back(view_of(state, printout));
    }
    return out;
  });
}

Result<PrintoutView> Desk::printout(const Caller& caller, std::uint32_t job) const {
  return engine_.read([&](const State& state) -> Result<PrintoutView> {
    auto found = wanted(state, caller, job);
    if (!found) return found.error();
    return view_of(state, *found);
  });
}

Ticket Desk::mark_seen(const Caller& caller, const std::vector<std::uint32_t>& jobs) {
  return engine_.change([&](Transaction& change) -> Status {
    for (const auto job : jobs) {
      const auto found = change.state().printouts.find(job);
      if (found == change.state().printouts.end() || found->second.owner != caller.account ||
          found->second.seen) {
        continue;
      }
      Printout printout = found->second;
      printout.seen = true;
      change.put(std::move(printout));
    }
    return {};
  });
}

Ticket Desk::give_printout(const Caller& caller, std::uint32_t job, std::string_view name) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller))
      return Error{Code::denied, "Only a manager may give printouts away."};
    auto printout = wanted(state, caller, job);
    if (!printout) return printout.error();
    const Account* account = state.account(ascii_lower(name));
    if (account == nullptr) {
      return Error{Code::not_found, fmt::format("There is no account {}.", clip(name, 40))};
    }
    printout->owner = account->id;
    printout->seen = false;
    change.journal(caller, "printout given", fmt::format("{}", job), account->name);
    change.put(*printout);
    return {};
  });
}

Ticket Desk::discard_printout(const Caller& caller, std::uint32_t job) {
  return engine_.change([&](Transaction& change) -> Status {
    auto printout = wanted(change.state(), caller, job);
    if (!printout) return printout.error();
    if (auto gone = take_away(change, *printout); !gone) return gone;
    change.journal(caller, "printout discarded", fmt::format("{}", job));
    return {};
  });
}

Result<std::size_t> Desk::retire_printouts(Time before) {
  std::size_t count = 0;
  for (bool more = true; more;) {
    more = false;
    auto retired =
        engine_
            .change([&](Transaction& change) -> Status {
              std::vector<Printout> old;
              for (const auto& [job, printout] : change.state().printouts) {
                if (printout.printed >= before) continue;
                more = old.size() == retired_at_once;
                if (more) break;
                old.push_back(printout);
              }
              for (const Printout& printout : old) {
                if (auto gone = take_away(change, printout); !gone) return gone;
                const Account* owner = change.state().account(printout.owner);
                change.journal(
                    stationer_itself(), "printout expired", fmt::format("{}", printout.job),
                    fmt::format("{}, printed {}", owner == nullptr ? "unclaimed" : owner->name,
                                local_time_text(printout.printed)));
              }
              count += old.size();
              return {};
            })
            .wait();
    if (!retired) return retired.error();
  }
  return count;
}

Ticket Desk::take_job_number(std::uint32_t job) {
  return engine_.change([&](Transaction& change) -> Status {
    take_job(change, job);
    return {};
  });
}

std::uint32_t Desk::last_job() const {
  return engine_.read([](const State& state) { return state.last_number(Series::job); });
}

Ticket Desk::note(const Caller& caller, std::string what, std::string subject, std::string detail) {
  return engine_.change([&](Transaction& change) -> Status {
    change.journal(caller, std::move(what), std::move(subject), std::move(detail));
    return {};
  });
}

Result<std::vector<JournalEntry>> Desk::journal(const JournalQuery& query) {
  if (auto settled = engine_.drain(); !settled) return settled.error();
  return engine_.catalog().journal(query);
}

Result<JournalReport> Desk::verify_journal() {
  if (auto settled = engine_.drain(); !settled) return settled.error();
  std::optional<JournalVerifier> verifier;
  auto done =
      engine_.catalog().whole_journal([&](const JournalHead& head) { verifier.emplace(head); },
                                      [&](const JournalEntry& entry) { verifier->add(entry); });
  if (!done) return done.error();
  return verifier->finish();
}

Status Desk::shorten_journal() {
  if (auto settled = engine_.drain(); !settled) return settled;
  const std::uint64_t most = journal_limits_.entries;
  const auto [first, last] = engine_.read(
      [](const State& state) { return std::pair(state.journal.first, state.journal.last); });
  // With some slack, so that this is not done for every entry.
  const bool too_many = most != 0 && last - first >= most + most / 100;
  std::optional<Time> oldest;
  if (journal_limits_.days != 0) {
    oldest = engine_.now() - std::chrono::days(journal_limits_.days);
  }
  auto surplus = engine_.catalog().newest_surplus(too_many ? most : last, oldest);
  if (!surplus) return surplus.error();
  if (!*surplus) return {};
  return engine_
      .change([&](Transaction& change) -> Status {
        JournalHead head = change.state().journal;
        if ((*surplus)->id < head.first) return {};
        JournalEntry gone;
        for (gone.id = head.first; gone.id <= (*surplus)->id; ++gone.id) change.drop(gone);
        head.first = (*surplus)->id + 1;
        head.before = (*surplus)->hash;
        change.put(head);
        change.journal(stationer_itself(), std::string(shortened_what),
                       shortened_subject((*surplus)->id),
                       fmt::format("the hash of the last of them: {}", hex((*surplus)->hash)));
        return {};
      })
      .wait();
}

}  // namespace stationer::fs
