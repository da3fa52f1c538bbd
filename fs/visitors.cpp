#include "fs/visitors.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/day_time.h"
#include "fs/engine.h"
#include "fs/history.h"
#include "fs/rights.h"
#include "fs/settings_table.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

bool leads_a_class(const State& state, AccountId account) {
  return std::any_of(state.memberships.begin(), state.memberships.end(), [&](const auto& each) {
    return each.second.account == account && each.second.leader;
  });
}

// What is there of an account that was there when the day ended.
struct Leftovers {
  std::vector<NodeId> in_folder;
  std::vector<NodeId> in_bin;
  std::vector<Notice> notices;
  std::vector<Printout> printouts;

  bool none() const {
    return in_folder.empty() && in_bin.empty() && notices.empty() && printouts.empty();
  }
};

Leftovers leftovers_of(const State& state, const Account& account, Time end) {
  Leftovers left;
  if (const auto home = find(state, keeper_at_the_box(), Path() / "members" / account.name)) {
    state.tree.each_child(*home, [&](NodeId id) {
      if (state.tree.get(id).created < end) left.in_folder.push_back(id);
    });
  }
  for (const auto& [id, entry] : state.bin) {
    if (entry.owner == account.id && entry.removed < end) left.in_bin.push_back(id);
  }
  for (const auto& [id, notice] : state.notices) {
    if (notice.to == account.id && notice.sent < end) left.notices.push_back(notice);
  }
  for (const auto& [job, printout] : state.printouts) {
    if (printout.owner == account.id && printout.printed < end) left.printouts.push_back(printout);
  }
  return left;
}

void take_away(Transaction& change, Leftovers left) {
  for (const NodeId top : left.in_folder) purge_below(change, top);
  for (const NodeId top : left.in_bin) purge_removal(change, top);
  for (const Notice& notice : left.notices) change.drop(notice);
  for (Printout& printout : left.printouts) {
    printout.owner = no_account;
    change.put(printout);
  }
}

}  // namespace

bool VisitorPlan::has(std::string_view account) const {
  return std::find(accounts.begin(), accounts.end(), account) != accounts.end();
}

Result<VisitorPlan> read_visitor_plan(std::string_view settings_text) {
  auto file = parse_settings(settings_text);
  if (!file) return file.error();
  auto found = settings_table(*file, "visitors");
  if (!found) return found.error();
  const toml::table& table = **found;
  if (auto keys = check_keys(table, "visitors", {"accounts", "tidy_at"}); !keys) {
    return keys.error();
  }
  VisitorPlan plan;
  if (const toml::node* accounts = table.get("accounts")) {
    const Error wrong =
        wrong_setting(*accounts, "accounts is a list of names, such as [\"visitor\"].");
    if (!accounts->is_array()) return wrong;
    for (const toml::node& each : *accounts->as_array()) {
      if (!each.is_string()) return wrong;
      plan.accounts.push_back(ascii_lower(each.as_string()->get()));
    }
  }
  auto at = text_setting(table, "tidy_at", "22:00");
  if (!at) return at.error();
  plan.tidy_at = time_of_day(*at);
  if (!at->empty() && !plan.tidy_at) {
    return wrong_setting(*table.get("tidy_at"),
                         "tidy_at must be a time such as \"22:00\", or \"\" for never.");
  }
  return plan;
}

Result<AccountId> Visitors::sign_on(std::string_view name, const std::string& where) {
  const auto account = engine_.read([&](const State& state) -> Result<Account> {
    const Account* found = state.account(ascii_lower(name));
    if (found == nullptr || !plan_.has(found->name)) {
      return Error{Code::denied,
                   fmt::format("Nobody may sign on as {} without a password.", clip(name, 40))};
    }
    if (found->role != Role::member || leads_a_class(state, found->id)) {
      return Error{Code::denied, fmt::format("{} has rights that take a password.", found->name)};
    }
    if (found->closed || (found->ends && engine_.now() >= *found->ends)) {
      return Error{Code::denied,
                   fmt::format("The account {} can't be used any more.", found->name)};
    }
    return *found;
  });
  if (!account) return account.error();
  // Nobody waits for the disk to sit down.
  static_cast<void>(engine_.change([&](Transaction& change) -> Status {
    change.journal({account->id, false, where}, "signed on without a password", account->name);
    return {};
  }));
  return account->id;
}

std::optional<Time> Visitors::last_end(std::chrono::seconds zone) const {
  if (!plan_.tidy_at) return std::nullopt;
  return last_at(*plan_.tidy_at, engine_.now(), zone);
}

bool Visitors::is_over(AccountId account, Time since, std::chrono::seconds zone) const {
  const auto end = last_end(zone);
  if (!end || since >= *end || plan_.accounts.empty()) return false;
  return engine_.read([&](const State& state) {
    const Account* found = state.account(account);
    return found != nullptr && plan_.has(found->name);
  });
}

Status Visitors::tidy(std::chrono::seconds zone) {
  const auto end = last_end(zone);
  if (!end) return {};
  for (const auto& name : plan_.accounts) {
    const auto left = [&](const State& state) {
      const Account* account = state.account(name);
      return account == nullptr ? Leftovers() : leftovers_of(state, *account, *end);
    };
    // Asked every minute, and nearly always there is nothing.
    if (engine_.read([&](const State& state) { return left(state).none(); })) continue;
    auto tidied = engine_
                      .change([&](Transaction& change) -> Status {
                        auto all = left(change.state());
                        change.journal(stationer_itself(), "tidied after visitors", name,
                                       fmt::format("{} in the folder, {} in the bin",
                                                   all.in_folder.size(), all.in_bin.size()));
                        take_away(change, std::move(all));
                        return {};
                      })
                      .wait();
    if (!tidied) return tidied;
  }
  return {};
}

}  // namespace stationer::fs
