// Classes, and who is in them.
#include <algorithm>

#include <fmt/format.h>

#include "fs/account.h"
#include "fs/engine.h"
#include "fs/limits.h"
#include "fs/people_part.h"
#include "fs/rights.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

std::vector<AccountId> primarily_in(const State& state, ClassId klass) {
  std::vector<AccountId> out;
  for (const auto& [id, account] : state.accounts) {
    if (account.klass == klass) out.push_back(id);
  }
  return out;
}

}  // namespace

std::vector<ClassView> People::classes() const {
  auto views = engine_.read([](const State& state) {
    std::vector<ClassView> out;
    for (const auto& [id, klass] : state.classes) {
      ClassView view;
      view.name = klass.name;
      view.created = klass.created;
      if (klass.limits) view.quota = klass.quota();
      for (const auto& [key, row] : state.memberships) {
        const Account* account = row.klass == id ? state.account(row.account) : nullptr;
        if (account != nullptr) (row.leader ? view.leaders : view.members).push_back(account->name);
      }
      std::sort(view.members.begin(), view.members.end());
      std::sort(view.leaders.begin(), view.leaders.end());
      out.push_back(std::move(view));
    }
    return out;
  });
  std::sort(views.begin(), views.end(),
            [](const ClassView& a, const ClassView& b) { return a.name < b.name; });
  return views;
}

Result<ClassView> People::class_of(std::string_view name) const {
  for (auto& view : classes()) {
    if (view.name == ascii_lower(name)) return std::move(view);
  }
  return Error{Code::not_found, fmt::format("There is no class {}.", clip(name, 40))};
}

Ticket People::add_class(const Caller& caller, std::string_view typed) {
  auto name = class_name(typed);
  if (!name) return name.error();
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return only_managers();
    if (state.class_of(*name) != nullptr) {
      return Error{Code::exists, fmt::format("There is already a class {}.", *name)};
    }
    Class klass;
    klass.id = ClassId{change.next_number(Series::klass)};
    klass.name = *name;
    klass.created = change.now();
    change.put(klass);
    auto classes = add_folder(change, files_root, "classes", no_account, no_class,
                              owner_all | Access::class_read | Access::everyone_read);
    if (!classes) return classes.error();
    auto folder =
        add_folder(change, *classes, *name, no_account, klass.id, owner_all | Access::class_read);
    if (!folder) return folder.error();
    // One may put in, but not look in.
    auto hand_in = add_folder(change, *folder, "hand-in", no_account, klass.id,
                              owner_all | Access::class_write);
    if (!hand_in) return hand_in.error();
    change.put(HandIn{*hand_in, {}, {}, false});
    change.journal(caller, "class added", *name);
    return {};
  });
}

Ticket People::set_class_limits(const Caller& caller, std::string_view name,
                                std::optional<Quota> quota) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return only_managers();
    auto klass = wanted_class(state, name);
    if (!klass) return klass.error();
    const Quota limits = quota.value_or(Quota{});
    klass->limits = quota.has_value();
    klass->soft_bytes = limits.soft_bytes;
    klass->hard_bytes = limits.hard_bytes;
    klass->soft_files = limits.soft_files;
    klass->hard_files = limits.hard_files;
    change.put(*klass);
    change.journal(caller, "class limits changed", klass->name,
                   quota ? describe(limits) : "the class has none");
    for (const AccountId id : primarily_in(state, klass->id)) track_soft_limit(change, id);
    return {};
  });
}

Ticket People::remove_class(const Caller& caller, std::string_view name) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return only_managers();
    auto klass = wanted_class(state, name);
    if (!klass) return klass.error();
    for (const auto& [key, row] : state.memberships) {
      if (row.klass == klass->id) {
        return Error{
            Code::exists,
            fmt::format("The class {} still has members. Let them leave first.", klass->name)};
      }
    }
    // Its folders stay, with their files, as the managers' to look after; a later class that gets
    // the same number must not find itself in possession of them.
    for (const NodeId root : {files_root, bin_root}) {
      state.tree.each_below(root, [&](NodeId id) {
        Node node = state.tree.get(id);
        if (node.klass != klass->id) return;
        node.klass = no_class;
        change.put(std::move(node));
      });
    }
    change.drop(*klass);
    change.journal(caller, "class removed", klass->name);
    return {};
  });
}

Ticket People::join(const Caller& caller, std::string_view class_name_, std::string_view name,
                    bool leader) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return only_managers();
    auto klass = wanted_class(state, class_name_);
    if (!klass) return klass.error();
    auto account = wanted_account(state, name);
    if (!account) return account.error();
    if (leader && account->role == Role::member) {
      return Error{Code::bad_input,
                   fmt::format("{} is a member and can't lead a class. Make them a leader first.",
                               account->name)};
    }
    change.put(Membership{klass->id, account->id, leader});
    if (account->klass == no_class && !leader) {
      account->klass = klass->id;
      change.put(*account);
      track_soft_limit(change, account->id);
    }
    change.journal(caller, leader ? "made leader of class" : "joined class", account->name,
                   klass->name);
    return {};
  });
}

Ticket People::leave(const Caller& caller, std::string_view class_name_, std::string_view name) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller)) return only_managers();
    auto klass = wanted_class(state, class_name_);
    if (!klass) return klass.error();
    auto account = wanted_account(state, name);
    if (!account) return account.error();
    if (state.membership(klass->id, account->id) == nullptr) {
      return Error{Code::not_found,
                   fmt::format("{} is not in the class {}.", account->name, klass->name)};
    }
    change.drop(Membership{klass->id, account->id, false});
    if (account->klass == klass->id) {
      account->klass = no_class;
      change.put(*account);
      track_soft_limit(change, account->id);
    }
    change.journal(caller, "left class", account->name, klass->name);
    return {};
  });
}

}  // namespace stationer::fs
