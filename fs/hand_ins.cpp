#include <algorithm>
#include <map>

#include <fmt/format.h>

#include "fs/engine.h"
#include "fs/hand_ins_part.h"
#include "fs/local_time.h"

namespace stationer::fs {
namespace {

Error for_class(const State& state, const Node& folder, bool leading, std::string message) {
  const Class* klass = state.class_of(folder.klass);
  return because(NotOfClass{klass == nullptr ? "" : klass->name, leading}, Code::denied,
                 std::move(message));
}

ReceiptView view_of(const State& state, const Receipt& receipt) {
  ReceiptView view;
  view.number = receipt.number;
  view.account = account_name_of(state, receipt.account);
  view.place = receipt.place;
  view.name = receipt.name;
  view.version = receipt.version;
  view.size = receipt.size;
  view.at = receipt.at;
  view.late = receipt.late;
  view.returned = receipt.returned;
  view.there = lies_in(state, receipt, receipt.folder);
  return view;
}

}  // namespace

// ---- for the other parts ----

HandInView view_of(const State& state, const HandIn& hand_in) {
  const Class* klass = state.class_of(state.tree.get(hand_in.node).klass);
  return {Files::path_of(state, hand_in.node).text(), klass == nullptr ? "" : klass->name,
          hand_in.times()};
}

bool lies_in(const State& state, const Receipt& receipt, NodeId folder) {
  return receipt.folder == folder && receipt.node != no_node && state.tree.has(receipt.node) &&
         state.tree.is_within(receipt.node, folder);
}

Result<HandIn> wanted_hand_in(const State& state, const Caller& caller, const Path& path) {
  auto id = find(state, caller, path);
  if (!id) return id.error();
  const auto found = state.hand_ins.find(*id);
  if (found == state.hand_ins.end()) {
    return Error{Code::bad_input, fmt::format("{} is not a hand-in folder.", path.text())};
  }
  return found->second;
}

bool is_in_class(const State& state, const Caller& caller, const Node& folder) {
  return folder.klass != no_class && state.membership(folder.klass, caller.account) != nullptr;
}

bool leads_folder(const State& state, const Caller& caller, const Node& folder) {
  if (is_manager(state, caller)) return true;
  const Membership* own =
      folder.klass == no_class ? nullptr : state.membership(folder.klass, caller.account);
  return own != nullptr && own->leader;
}

Result<HandIn> wanted_by_leader(const State& state, const Caller& caller, const Path& path) {
  auto hand_in = wanted_hand_in(state, caller, path);
  if (hand_in && !leads_folder(state, caller, state.tree.get(hand_in->node))) {
    return for_class(
        state, state.tree.get(hand_in->node), true,
        fmt::format("Only leaders of its class may see what was handed in to {}.", path.text()));
  }
  return hand_in;
}

// ---- looking ----

std::vector<HandInView> HandIns::folders(const Caller& caller) const {
  auto views = engine_.read([&](const State& state) {
    std::vector<HandInView> out;
    for (const auto& [id, hand_in] : state.hand_ins) {
      if (!state.tree.has(id) || !state.tree.is_within(id, files_root)) continue;
      const Node folder = state.tree.get(id);
      if (is_manager(state, caller) || is_in_class(state, caller, folder)) {
        out.push_back(view_of(state, hand_in));
      }
    }
    return out;
  });
  std::sort(views.begin(), views.end(),
            [](const HandInView& a, const HandInView& b) { return a.path < b.path; });
  return views;
}

Result<HandInView> HandIns::look(const Caller& caller, const Path& folder) const {
  return engine_.read([&](const State& state) -> Result<HandInView> {
    auto hand_in = wanted_hand_in(state, caller, folder);
    if (!hand_in) return hand_in.error();
    const Node node = state.tree.get(hand_in->node);
    if (!is_manager(state, caller) && !is_in_class(state, caller, node)) {
      return for_class(state, node, false,
                       fmt::format("Only the class may hand in to {}.", folder.text()));
    }
    return view_of(state, *hand_in);
  });
}

std::vector<ReceiptView> HandIns::receipts(const Caller& caller) const {
  return engine_.read([&](const State& state) {
    std::vector<ReceiptView> out;
    if (caller.account == no_account) return out;
    const auto& numbers = state.receipts_of(caller.account);
    for (auto number = numbers.rbegin(); number != numbers.rend(); ++number) {
      out.push_back(view_of(state, state.receipts.at(*number)));
    }
    return out;
  });
}

Result<Roll> HandIns::roll(const Caller& caller, const Path& folder) const {
  return engine_.read([&](const State& state) -> Result<Roll> {
    auto hand_in = wanted_by_leader(state, caller, folder);
    if (!hand_in) return hand_in.error();
    std::map<AccountId, RollEntry> entries;
    const ClassId klass = state.tree.get(hand_in->node).klass;
    for (const auto& [key, row] : state.memberships) {
      if (klass == no_class || row.klass != klass || row.leader) continue;
      entries[row.account].member = true;
    }
    const auto& numbers = state.receipts_about(hand_in->node);
    for (auto number = numbers.rbegin(); number != numbers.rend(); ++number) {
      const Receipt& receipt = state.receipts.at(*number);
      if (receipt.account == no_account || receipt.folder != hand_in->node) continue;
      entries[receipt.account].receipts.push_back(view_of(state, receipt));
    }
    Roll out{view_of(state, *hand_in), {}};
    for (auto& [id, entry] : entries) {
      const Account* account = state.account(id);
      if (account == nullptr) continue;
      entry.account = account->name;
      entry.full_name = account->full_name;
      out.entries.push_back(std::move(entry));
    }
    std::sort(out.entries.begin(), out.entries.end(),
              [](const RollEntry& a, const RollEntry& b) { return a.account < b.account; });
    return out;
  });
}

// ---- changing ----

Ticket HandIns::set_times(const Caller& caller, const Path& path, const HandInTimes& times) {
  if (auto fine = check_times(times); !fine) return fine.error();
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    auto id = find(state, caller, path);
    if (!id) return id.error();
    Node folder = state.tree.get(*id);
    if (!folder.folder) {
      return Error{Code::not_a_folder, fmt::format("{} is a file, not a folder.", path.text())};
    }
    if (folder.klass == no_class) {
      return Error{Code::bad_input,
                   fmt::format("{} belongs to no class, so nobody could hand in there. Make the "
                               "folder in the class's own.",
                               path.text())};
    }
    if (!leads_folder(state, caller, folder) || !is_as_owner(state, caller, folder)) {
      return for_class(state, folder, true,
                       fmt::format("Only leaders of its class may change {}.", path.text()));
    }
    if (state.hand_ins.count(*id) == 0) {
      bool for_others = false;
      state.tree.each_child(*id, [&](NodeId child) {
        const Node node = state.tree.get(child);
        const bool filed = node.owner == no_account && node.klass == folder.klass &&
                           node.access == Access(for_leaders);
        for_others = for_others || !filed;
      });
      if (for_others) {
        return Error{Code::exists,
                     fmt::format("{} is not empty. Take out what is in it, or make a new folder: "
                                 "what lies in a hand-in folder is for leaders only.",
                                 path.text())};
      }
      // The class's own from now on, so that every leader of it looks after it.
      folder.owner = no_account;
      folder.access = Access(for_leaders | Access::class_write);
      change.put(folder);
    }
    change.put(HandIn{*id, times.opens, times.closes, times.late_allowed});
    change.journal(caller, "hand-in times set", Files::path_of(state, *id).text(),
                   fmt::format("opens {}, closes {}, late {}",
                               times.opens ? local_time_text(*times.opens) : "at once",
                               times.closes ? local_time_text(*times.closes) : "never",
                               times.late_allowed ? "allowed" : "refused"));
    return {};
  });
}

Ticket HandIns::make_ordinary(const Caller& caller, const Path& path) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    auto hand_in = wanted_hand_in(state, caller, path);
    if (!hand_in) return hand_in.error();
    Node folder = state.tree.get(hand_in->node);
    if (!leads_folder(state, caller, folder)) {
      return for_class(state, folder, true,
                       fmt::format("Only leaders of its class may change {}.", path.text()));
    }
    change.drop(*hand_in);
    folder.access = Access(for_leaders | Access::class_read);
    change.put(folder);
    change.journal(caller, "hand-in folder made ordinary", Files::path_of(state, folder.id).text());
    return {};
  });
}

}  // namespace stationer::fs
