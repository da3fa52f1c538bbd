#include "fs/people.h"

#include <algorithm>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/account.h"
#include "fs/engine.h"
#include "fs/hand_ins.h"
#include "fs/limits.h"
#include "fs/node_name.h"
#include "fs/path.h"
#include "fs/people_part.h"
#include "fs/rights.h"
#include "fs/size_words.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr std::size_t longest_full_name = 60;

std::string in_utc(Time time) {
  return fmt::format("{:%Y-%m-%d %H:%M} UTC",
                     fmt::gmtime(std::chrono::system_clock::to_time_t(time)));
}

}  // namespace

// ---- for the other parts ----

Error only_managers() {
  return {Code::denied, "Only a manager may do that."};
}

Result<Account> wanted_account(const State& state, std::string_view name) {
  const Account* account = state.account(ascii_lower(name));
  if (account == nullptr) {
    return Error{Code::not_found, fmt::format("There is no account {}.", clip(name, 40))};
  }
  return *account;
}

Result<Class> wanted_class(const State& state, std::string_view name) {
  const Class* klass = state.class_of(ascii_lower(name));
  if (klass == nullptr) {
    return Error{Code::not_found, fmt::format("There is no class {}.", clip(name, 40))};
  }
  return *klass;
}

Result<NodeId> add_folder(Transaction& change, NodeId parent, std::string_view name,
                          AccountId owner, ClassId klass, unsigned bits) {
  const State& state = change.state();
  if (const auto there = state.tree.child(parent, name)) {
    if (state.tree.get(*there).folder) return *there;
    return Error{Code::exists, fmt::format("A file called {} is in the way; move it first.", name)};
  }
  Node node;
  node.id = change.free_node();
  node.parent = parent;
  node.name = name;
  if (!is_short_name(name)) {
    node.alias = short_alias(
        name, [&](std::string_view each) { return state.tree.child(parent, each).has_value(); });
  }
  node.folder = true;
  node.owner = owner;
  node.klass = klass;
  node.access = Access(bits);
  node.created = node.modified = change.now();
  change.put(node);
  change.deed(MakeFolder{Engine::host_path(state, node.id)});
  return node.id;
}

std::string describe(const Quota& quota) {
  const auto size = [](std::uint64_t bytes) { return bytes == 0 ? "" : size_in_words(bytes); };
  const auto count = [](std::uint64_t files) { return files == 0 ? "" : std::to_string(files); };
  return fmt::format("{}; files: {}",
                     limits_in_words(size(quota.soft_bytes), size(quota.hard_bytes)),
                     limits_in_words(count(quota.soft_files), count(quota.hard_files)));
}

// ---- accounts ----

AccountView People::view_of(const State& state, const Account& account) {
  AccountView view;
  view.id = account.id;
  view.name = account.name;
  view.full_name = account.full_name;
  view.role = account.role;
  view.closed = account.closed;
  view.has_password = !account.password.empty();
  const Class* primary = state.class_of(account.klass);
  view.klass = primary == nullptr ? "" : primary->name;
  for (const auto& [key, row] : state.memberships) {
    if (row.account != account.id) continue;
    const Class* klass = state.class_of(row.klass);
    if (klass != nullptr) (row.leader ? view.leads : view.classes).push_back(klass->name);
  }
  view.quota = quota_of(state, account);
  view.own_limits = account.own_limits;
  view.usage = state.tree.usage(account.id);
  view.over_since = account.over_since;
  view.created = account.created;
  view.ends = account.ends;
  if (const auto left = state.leaving.find(account.id); left != state.leaving.end()) {
    view.leaves_after = left->second.after;
  }
  return view;
}

std::vector<AccountView> People::accounts() const {
  auto views = engine_.read([](const State& state) {
    std::vector<AccountView> out;
    for (const auto& [id, account] : state.accounts) out.push_back(view_of(state, account));
    return out;
  });
  std::sort(views.begin(), views.end(),
            [](const AccountView& a, const AccountView& b) { return a.name < b.name; });
  return views;
}

Result<AccountView> People::account(std::string_view name) const {
  return engine_.read([&](const State& state) -> Result<AccountView> {
    auto account = wanted_account(state, name);
    if (!account) return account.error();
    return view_of(state, *account);
  });
}

std::optional<AccountView> People::account(AccountId id) const {
  return engine_.read([&](const State& state) -> std::optional<AccountView> {
    const Account* account = state.account(id);
    if (account == nullptr) return std::nullopt;
    return view_of(state, *account);
  });
}

bool People::looks_after(const Caller& caller, AccountId account) const {
  return engine_.read([&](const State& state) {
    return is_manager(state, caller) || state.leads(caller.account, account);
  });
}

Ticket People::add_account(const Caller& caller, const NewAccount& wanted) {
  auto name = account_name(wanted.name);
  if (!name) return name.error();
  if (auto fine = check_line(wanted.full_name, longest_full_name, "The full name"); !fine) {
    return fine.error();
  }
  std::string hash;
  if (!wanted.password.empty()) {
    if (auto fine = check_new_password(wanted.password, *name); !fine) return fine.error();
    auto made = hash_password(wanted.password, cost_);
    if (!made) return made.error();
    hash = std::move(*made);
  }
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return only_managers();
    if (state.account(*name) != nullptr) {
      return Error{Code::exists, fmt::format("There is already an account {}.", *name)};
    }
    Account account;
    account.id = AccountId{change.next_number(Series::account)};
    account.name = *name;
    account.full_name = wanted.full_name;
    account.role = wanted.role;
    account.password = hash;
    account.soft_bytes = new_account_.soft_bytes;
    account.hard_bytes = new_account_.hard_bytes;
    account.soft_files = new_account_.soft_files;
    account.hard_files = new_account_.hard_files;
    account.created = change.now();
    if (!wanted.klass.empty()) {
      auto klass = wanted_class(state, wanted.klass);
      if (!klass) return klass.error();
      account.klass = klass->id;
      change.put(Membership{klass->id, account.id, wanted.role == Role::leader});
    }
    change.put(account);
    auto members = add_folder(change, files_root, "members", no_account, no_class,
                              owner_all | Access::class_read | Access::everyone_read);
    if (!members) return members.error();
    auto home = add_folder(change, *members, *name, account.id, no_class, owner_all);
    if (!home) return home.error();
    change.journal(caller, "account added", *name, role_name(wanted.role));
    return {};
  });
}

Ticket People::change_account(const Caller& caller, std::string_view name,
                              const AccountChange& wanted) {
  if (wanted.full_name) {
    auto fine = check_line(*wanted.full_name, longest_full_name, "The full name");
    if (!fine) return fine.error();
  }
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return only_managers();
    auto account = wanted_account(state, name);
    if (!account) return account.error();
    const auto note = [&](std::string what, std::string detail) {
      change.journal(caller, std::move(what), account->name, std::move(detail));
    };
    if (wanted.full_name && *wanted.full_name != account->full_name) {
      account->full_name = *wanted.full_name;
      note("full name changed", account->full_name);
    }
    if (wanted.role && *wanted.role != account->role) {
      note("role changed",
           fmt::format("{} to {}", role_name(account->role), role_name(*wanted.role)));
      account->role = *wanted.role;
    }
    if (wanted.closed && *wanted.closed != account->closed) {
      account->closed = *wanted.closed;
      note(account->closed ? "account closed" : "account opened", "");
      if (!account->closed && state.leaving.count(account->id) != 0) {
        change.drop(Leaving(state.leaving.at(account->id)));
      }
    }
    if (wanted.klass) {
      account->klass = no_class;
      if (!wanted.klass->empty()) {
        auto klass = wanted_class(state, *wanted.klass);
        if (!klass) return klass.error();
        account->klass = klass->id;
        if (state.membership(klass->id, account->id) == nullptr) {
          change.put(Membership{klass->id, account->id, false});
        }
      }
      note("class changed", *wanted.klass);
    }
    if (wanted.quota) {
      account->soft_bytes = wanted.quota->soft_bytes;
      account->hard_bytes = wanted.quota->hard_bytes;
      account->soft_files = wanted.quota->soft_files;
      account->hard_files = wanted.quota->hard_files;
      account->own_limits = true;
      note("limits changed", describe(*wanted.quota));
    }
    if (wanted.own_limits && *wanted.own_limits != account->own_limits) {
      account->own_limits = *wanted.own_limits;
      note("limits changed", account->own_limits ? "its own" : "those of its class");
    }
    if (wanted.ends && *wanted.ends != account->ends) {
      account->ends = *wanted.ends;
      note("end changed", account->ends ? in_utc(*account->ends) : "no end");
    }
    change.put(*account);
    track_soft_limit(change, account->id);
    return {};
  });
}

Ticket People::remove_account(const Caller& caller, std::string_view name) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return only_managers();
    auto account = wanted_account(state, name);
    if (!account) return account.error();
    auto home = find(state, keeper_at_the_box(), Path() / "members" / account->name);
    const bool has_home = home && state.tree.get(*home).owner == account->id;
    const bool home_empty = has_home && !state.tree.has_children(*home);
    bool in_bin = false;
    state.tree.each_below(
        bin_root, [&](NodeId id) { in_bin = in_bin || state.tree.get(id).owner == account->id; });
    const Usage left = state.tree.usage(account->id);
    if (in_bin || (has_home && !home_empty) || left.files != (has_home ? 1u : 0u)) {
      return Error{
          Code::exists,
          fmt::format("{} still owns files, here or in the bin. Close the account instead, or "
                      "give the files to somebody else first.",
                      account->name)};
    }
    if (has_home) {
      change.deed(RemovePath{Engine::host_path(state, *home), true});
      change.drop(state.tree.get(*home));
    }
    std::vector<Membership> memberships;
    for (const auto& [key, row] : state.memberships) {
      if (row.account == account->id) memberships.push_back(row);
    }
    for (const auto& row : memberships) change.drop(row);
    std::vector<Notice> notices;
    for (const auto& [id, notice] : state.notices) {
      if (notice.to == account->id) notices.push_back(notice);
    }
    for (const auto& notice : notices) change.drop(notice);
    std::vector<Printout> printouts;
    for (const auto& [job, printout] : state.printouts) {
      if (printout.owner == account->id) printouts.push_back(printout);
    }
    for (auto& printout : printouts) {
      printout.owner = no_account;
      change.put(printout);
    }
    forget_hand_ins(change, account->id);
    if (state.leaving.count(account->id) != 0) {
      change.drop(Leaving(state.leaving.at(account->id)));
    }
    change.drop(*account);
    change.journal(caller, "account removed", account->name);
    return {};
  });
}

}  // namespace stationer::fs
