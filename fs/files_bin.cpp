// The bin: what is in it, back out of it, and away for good.
#include <algorithm>
#include <map>

#include <fmt/format.h>

#include "fs/engine.h"
#include "fs/files_part.h"
#include "fs/history.h"
#include "fs/limits.h"
#include "fs/rights.h"
#include "fs/upkeep.h"

namespace stationer::fs {
namespace {

// Whether something there has the keep bit. It came to the bin by the host's owner, and stays in
// it.
bool holds_kept(const State& state, NodeId top) {
  bool kept = false;
  if (!state.tree.has(top)) return kept;
  state.tree.each_below(
      top, [&](NodeId id) { kept = kept || state.tree.get(id).access.has(Access::keep); });
  return kept;
}

}  // namespace

std::vector<BinView> Files::bin(const Caller& caller) const {
  auto views = engine_.read([&](const State& state) {
    std::vector<BinView> out;
    const bool manager = is_manager(state, caller);
    for (const auto& [id, entry] : state.bin) {
      if (!state.tree.has(id)) continue;  // a damaged catalogue; the check tells
      const bool own = caller.account != no_account && entry.owner == caller.account;
      if (!manager && !own && !state.leads(caller.account, entry.owner)) continue;
      BinView view;
      view.id = id;
      view.path = entry.path;
      view.folder = state.tree.get(id).folder;
      state.tree.each_below(id, [&](NodeId below) { view.size += state.tree.get(below).size; });
      view.owner = account_name_of(state, entry.owner);
      view.removed = entry.removed;
      out.push_back(std::move(view));
    }
    return out;
  });
  std::stable_sort(views.begin(), views.end(),
                   [](const BinView& a, const BinView& b) { return a.removed > b.removed; });
  return views;
}

Ticket Files::restore(const Caller& caller, NodeId removal) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    const auto entry = state.bin.find(removal);
    if (entry == state.bin.end() || !state.tree.has(removal))
      return Error{Code::not_found, "That is not in the bin any more."};
    Node node = state.tree.get(removal);
    const bool removed_it =
        caller.account != no_account && entry->second.removed_by == caller.account;
    if (!removed_it && !is_as_owner(state, caller, node)) {
      return because(NotTheirs{entry->second.path, account_name_of(state, node.owner)},
                     Code::denied, "Only its owner, or who removed it, may take it from the bin.");
    }
    auto path = Path::parse(entry->second.path);
    if (!path) return path.error();
    auto parent = find_parent(state, caller, *path);
    if (!parent) return parent.error();
    if (!may_write(state, caller, state.tree.get(*parent))) {
      return lacks_writing(state, caller, *parent,
                           fmt::format("You may not save in {}.", path->parent().text()));
    }
    if (state.tree.child(*parent, path->last())) return taken(*path);
    // What comes back counts again, for everybody who owns something in it.
    std::map<AccountId, Usage> coming;
    state.tree.each_below(removal, [&](NodeId id) {
      const Node below = state.tree.get(id);
      coming[below.owner] = coming[below.owner] + Usage{below.size, 1};
    });
    for (const auto& [owner, more] : coming) {
      const Usage before = state.tree.usage(owner);
      auto allowed =
          check_growth(state, caller.account, owner, before, before + more, change.now(), grace_);
      if (!allowed) return allowed;
    }
    const HostPath from = Engine::host_path(state, removal);
    node.parent = *parent;
    node.name = path->last();
    node.alias = alias_for(state, *parent, node.name, node.id, node.alias);
    change.drop(BinEntry{removal, {}, {}, {}, {}});
    change.put(node);
    for (const AccountId owner : owners_below(state, removal)) track_soft_limit(change, owner);
    change.deed(MovePath{from, Engine::host_path(state, removal)});
    change.journal(caller, "restored from the bin", path->text());
    return {};
  });
}

Ticket Files::empty_bin(const Caller& caller, bool all) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (all && !is_manager(state, caller))
      return for_managers("Only a manager may empty everybody's bin.");
    std::vector<NodeId> tops;
    for (const auto& [id, entry] : state.bin) {
      const bool own = caller.account != no_account && entry.owner == caller.account;
      if ((all || own) && !holds_kept(state, id)) tops.push_back(id);
    }
    for (const NodeId top : tops) purge_removal(change, top);
    if (!tops.empty()) {
      change.journal(caller, "bin emptied", all ? "everybody's" : "their own",
                     fmt::format("{} removals", tops.size()));
    }
    return {};
  });
}

}  // namespace stationer::fs
