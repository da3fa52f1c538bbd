#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "fs/check_part.h"

namespace stationer::fs {
namespace {

Status rename_account(Transaction& change, AccountId id) {
  const State& state = change.state();
  if (state.account(id) == nullptr) return {};
  Account now = *state.account(id);
  const std::string name = now.name;
  for (int n = 2; state.account(now.name) != nullptr; ++n) now.name = fmt::format("{}{}", name, n);
  change.put(std::move(now));
  // Taking the name from one must not take it from the other.
  for (const auto& [other, account] : state.accounts) {
    if (other != id && account.name == name) {
      change.put(Account(account));
      break;
    }
  }
  return {};
}

void check_accounts(const State& state, RowProblems& problems) {
  std::set<std::string> names;
  for (const auto& [id, account] : state.accounts) {
    if (!names.insert(account.name).second) {
      problems.add(account.name, "Two accounts have this name, so one of them can't sign on.",
                   "the newer one gets a number behind its name",
                   [key = id](Transaction& change) { return rename_account(change, key); });
    }
    if (account.klass != no_class && state.class_of(account.klass) == nullptr) {
      problems.add(account.name, "The account's class is not there.", "it has no class of its own",
                   [key = id](Transaction& change) -> Status {
                     const Account* found = change.state().account(key);
                     if (found == nullptr) return {};
                     Account now = *found;
                     now.klass = no_class;
                     change.put(std::move(now));
                     return {};
                   });
    }
  }
  for (const auto& [key, row] : state.memberships) {
    if (state.account(row.account) != nullptr && state.class_of(row.klass) != nullptr) continue;
    problems.add("catalog.db",
                 fmt::format("The membership of account {} in class {} leads to nothing.",
                             number(row.account), number(row.klass)),
                 "the membership goes", [row = row](Transaction& change) -> Status {
                   change.drop(row);
                   return {};
                 });
  }
}

void check_desk(const State& state, RowProblems& problems) {
  for (const auto& [job, row] : state.printouts) {
    if (row.owner == no_account || state.account(row.owner) != nullptr) continue;
    problems.add(row.path, "This printout's owner has no account.", "it goes to the unclaimed",
                 [key = job](Transaction& change) -> Status {
                   const auto found = change.state().printouts.find(key);
                   if (found == change.state().printouts.end()) return {};
                   Printout now = found->second;
                   now.owner = no_account;
                   change.put(std::move(now));
                   return {};
                 });
  }
  for (const auto& [id, row] : state.notices) {
    if (state.account(row.to) != nullptr) continue;
    problems.add("catalog.db", fmt::format("Notice {} is for an account that is not there.", id),
                 "the notice goes", [row = row](Transaction& change) -> Status {
                   change.drop(row);
                   return {};
                 });
  }
}

bool is_known(const State& state, NodeId id) {
  return id == no_node || state.tree.has(id) || is_lost(state, id);
}

}  // namespace

void check_hand_in_rows(const State& state, RowProblems& problems) {
  for (const auto& [id, row] : state.hand_ins) {
    if (is_known(state, id)) continue;
    problems.add("catalog.db", fmt::format("Hand-in folder {} is not there.", number(id)),
                 "its times go", [row = row](Transaction& change) -> Status {
                   change.drop(row);
                   return {};
                 });
  }
  for (const auto& [number, row] : state.receipts) {
    const auto mend = [](const State& now, Receipt& receipt) {
      if (now.account(receipt.account) == nullptr) receipt.account = no_account;
      if (!is_known(now, receipt.node)) receipt.node = no_node;
      if (!is_known(now, receipt.folder)) receipt.folder = no_node;
    };
    Receipt right = row;
    mend(state, right);
    if (right.account == row.account && right.node == row.node && right.folder == row.folder) {
      continue;
    }
    problems.add("catalog.db",
                 fmt::format("Receipt {} tells of an account or a file that is not there.", number),
                 "the receipt is without it", [mend, key = number](Transaction& change) -> Status {
                   const auto found = change.state().receipts.find(key);
                   if (found == change.state().receipts.end()) return {};
                   Receipt now = found->second;
                   mend(change.state(), now);
                   change.put(std::move(now));
                   return {};
                 });
  }
  for (const auto& [id, row] : state.collected) {
    if (is_known(state, id) && state.account(row.account) != nullptr) continue;
    problems.add("catalog.db", "A note of whose work a file is leads to nothing.", "the note goes",
                 [row = row](Transaction& change) -> Status {
                   change.drop(row);
                   return {};
                 });
  }
}

namespace {

void check_leaving(const State& state, RowProblems& problems) {
  for (const auto& [id, row] : state.leaving) {
    if (state.account(id) != nullptr) continue;
    problems.add("catalog.db", "Somebody is to leave who has no account.", "that goes",
                 [row = row](Transaction& change) -> Status {
                   change.drop(row);
                   return {};
                 });
  }
}

}  // namespace

bool is_lost(const State& state, NodeId id) {
  return std::any_of(state.lost.begin(), state.lost.end(),
                     [&](const Node& each) { return each.id == id; });
}

void RowProblems::add(std::string path, std::string sentence, std::string remedy, Make make) {
  auto mend = [this_engine = &engine_, caller = caller_, path, remedy, make = std::move(make)] {
    return this_engine
        ->change([&](Transaction& change) -> Status {
          if (auto made = make(change); !made) return made;
          change.journal(caller, "repaired", path, remedy);
          return {};
        })
        .wait();
  };
  all.emplace_back(Finding::Kind::catalogue, std::move(path), std::move(sentence),
                   std::move(remedy), std::move(mend));
}

void check_people_rows(const State& state, RowProblems& problems) {
  check_accounts(state, problems);
  check_desk(state, problems);
  check_leaving(state, problems);
}

}  // namespace stationer::fs
