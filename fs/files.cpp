#include "fs/files.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/engine.h"
#include "fs/files_part.h"
#include "fs/hand_ins.h"
#include "fs/limits.h"
#include "fs/rights.h"
#include "fs/text.h"
#include "fs/upkeep.h"

namespace stationer::fs {
namespace {

NodeView view_of(const State& state, const Caller& caller, NodeId id) {
  Node node = state.tree.get(id);
  const Standing stand = standing(state, caller, node);
  NodeView view;
  view.id = id;
  view.alias = node.alias.empty() ? ascii_upper(node.name) : std::move(node.alias);
  view.name = std::move(node.name);
  view.folder = node.folder;
  view.kind = node.kind;
  view.owner = account_name_of(state, node.owner);
  const Class* klass = state.class_of(node.klass);
  view.klass = klass == nullptr ? "" : klass->name;
  view.access = node.access;
  view.load_address = node.load_address;
  view.entry_point = node.entry_point;
  view.size = node.size;
  view.content = node.content;
  view.created = node.created;
  view.modified = node.modified;
  view.may_read = may_read(node.access, stand);
  view.may_write = may_write(node.access, stand);
  return view;
}

// Whether a caller may take a node out of its folder: both to rename and to remove it.
Status check_taking_out(const State& state, const Caller& caller, const Node& node,
                        const Path& path) {
  const Node folder = state.tree.get(node.parent);
  if (node.access.has(Access::keep)) return kept(path);
  if (!may_write(state, caller, folder)) {
    return lacks_writing(state, caller, node.parent,
                         fmt::format("You may not change what is in {}.", path.parent().text()));
  }
  if (!is_as_owner(state, caller, node) && !is_as_owner(state, caller, folder)) {
    return not_theirs(
        state, node.id,
        fmt::format("{} belongs to {}.", path.text(),
                    node.owner == no_account ? "the room" : account_name_of(state, node.owner)));
  }
  return {};
}

// What is kept keeps its place, too: the folders above it stay.
Status check_nothing_kept(const State& state, NodeId top) {
  Status status;
  state.tree.each_below(top, [&](NodeId id) {
    if (status && state.tree.get(id).access.has(Access::keep)) {
      status = kept(Files::path_of(state, id));
    }
  });
  return status;
}

// Whether everything below a node may go with it.
Status check_all_below(const State& state, const Caller& caller, NodeId top, const Path& path) {
  Status status = check_nothing_kept(state, top);
  state.tree.each_below(top, [&](NodeId id) {
    if (!status || id == top) return;
    const Node node = state.tree.get(id);
    if (!is_as_owner(state, caller, node)) {
      status = not_theirs(
          state, id,
          fmt::format("{} holds {}, which is not yours to remove.", path.text(), node.name));
    }
  });
  return status;
}

// Hand-in folders take files, and copies only: nothing that keeps its owner gets in, and nobody
// learns what names are taken there.
Status check_not_handed_in(const State& state, const Caller& caller, NodeId folder) {
  if (!handing_in(state, caller, folder)) return {};
  if (is_as_owner(state, caller, state.tree.get(folder))) return {};
  return denied("Only files can be handed in, and by copying them: one by one.");
}

// What a file is besides its contents: "program, loads at 0801 hex".
std::string details_of(const Node& node) {
  std::string out = kind_name(node.kind);
  if (node.load_address) out += fmt::format(", loads at {:04X} hex", *node.load_address);
  if (node.entry_point) out += fmt::format(", starts at {:04X} hex", *node.entry_point);
  return out;
}

}  // namespace

// ---- for the other parts ----

Error denied(std::string message) {
  return {Code::denied, std::move(message)};
}

Error for_managers(std::string message) {
  return because(ManagersOnly{}, Code::denied, std::move(message));
}

Error kept(const Path& path) {
  return because(IsKept{path.text()}, Code::kept,
                 fmt::format("{} is kept: it can't be changed or removed until its keep bit is "
                             "cleared.",
                             path.text()));
}

Error taken(const Path& path) {
  return {Code::exists, fmt::format("There is already something called {}.", path.text())};
}

std::vector<AccountId> owners_below(const State& state, NodeId top) {
  std::vector<AccountId> owners;
  state.tree.each_below(top, [&](NodeId id) {
    const AccountId owner = state.tree.get(id).owner;
    if (std::find(owners.begin(), owners.end(), owner) == owners.end()) owners.push_back(owner);
  });
  return owners;
}

Status check_former(const State& state, const Caller& caller, const std::optional<Former>& former) {
  if (!former || is_manager(state, caller)) return {};
  return for_managers("Only a manager may bring things back as they were.");
}

AccountId owner_of(const State& state, const Former& former) {
  const Account* account = state.account(former.owner);
  return account == nullptr ? no_account : account->id;
}

ClassId class_of(const State& state, const Former& former) {
  const Class* klass = state.class_of(former.klass);
  return klass == nullptr ? no_class : klass->id;
}

void dress(const State& state, Node& node, const Former& former) {
  node.owner = owner_of(state, former);
  node.klass = class_of(state, former);
  node.access = former.access;
}

// ---- looking ----

Path Files::path_of(const State& state, NodeId node) {
  if (node == files_root) return {};
  return path_of(state, state.tree.parent(node)) / std::string(state.tree.name(node));
}

Result<NodeView> Files::look(const Caller& caller, const Path& path) const {
  return engine_.read([&](const State& state) -> Result<NodeView> {
    auto id = find(state, caller, path);
    if (!id) return id.error();
    NodeView view = view_of(state, caller, *id);
    view.work_of = work_of(state, *id);
    return view;
  });
}

SaveOptions as_copy(const NodeView& file) {
  SaveOptions options;
  options.kind = file.kind;
  options.load_address = file.load_address;
  options.entry_point = file.entry_point;
  options.work_of = file.work_of;
  return options;
}

Result<std::vector<NodeView>> Files::list(const Caller& caller, const Path& folder) const {
  using Views = std::vector<NodeView>;
  auto views = engine_.read([&](const State& state) -> Result<Views> {
    auto id = find(state, caller, folder);
    if (!id) return id.error();
    const Node node = state.tree.get(*id);
    if (!node.folder) {
      return Error{Code::not_a_folder, fmt::format("{} is a file, not a folder.", folder.text())};
    }
    if (!may_read(state, caller, node)) {
      return lacks_reading(state, caller, *id,
                           fmt::format("You may not look into {}.", folder.text()));
    }
    Views out;
    state.tree.each_child(*id, [&](NodeId child) {
      NodeView view = view_of(state, caller, child);
      if (view.may_read || view.may_write) out.push_back(std::move(view));
    });
    return out;
  });
  if (!views) return views;
  std::vector<std::string> folded;
  folded.reserve(views->size());
  for (const auto& view : *views) folded.push_back(fold(view.name));
  // Sorted by what is light to move.
  std::vector<std::pair<std::string_view, NodeView*>> by_name;
  by_name.reserve(views->size());
  for (auto& view : *views) by_name.emplace_back(folded[by_name.size()], &view);
  std::sort(by_name.begin(), by_name.end(),
            [](const auto& a, const auto& b) { return a.first < b.first; });
  Views sorted;
  sorted.reserve(views->size());
  for (const auto& [name, view] : by_name) sorted.push_back(std::move(*view));
  return sorted;
}

Result<Content> Files::read(const Caller& caller, const Path& file) const {
  return engine_.open_content([&](const State& state) -> Result<NodeId> {
    auto found = find(state, caller, file);
    if (!found) return found;
    if (state.tree.is_folder(*found)) {
      return Error{Code::is_a_folder, fmt::format("{} is a folder, not a file.", file.text())};
    }
    if (!may_read(state, caller, *found)) {
      return lacks_reading(state, caller, *found, fmt::format("You may not read {}.", file.text()));
    }
    return found;
  });
}

Path Files::place_for(const Caller& caller, const Path& from, const Path& to) const {
  const auto there = look(caller, to);
  if (from.is_top() || !there || !there->folder) return to;
  const auto source = look(caller, from);
  // A folder that is only to be written differently does not go into itself.
  if (source && source->id == there->id) return to;
  return to / (source ? source->name : from.last());
}

Result<Files::Space> Files::space(const Caller& caller) const {
  auto disk = engine_.space();
  if (!disk) return disk.error();
  return engine_.read([&](const State& state) -> Result<Space> {
    Space space;
    space.free_bytes = disk->free_bytes;
    const Account* account = state.account(caller.account);
    if (account == nullptr) return space;
    space.usage = state.tree.usage(caller.account);
    space.quota = quota_of(state, *account);
    space.over_since = over_since(*account, engine_.now());
    space.fullness = fullness(space.quota, space.usage);
    space.grace = grace_;
    const auto left = bytes_left(space.quota, space.usage, space.over_since, engine_.now(), grace_);
    if (left) space.free_bytes = std::min(space.free_bytes, *left);
    return space;
  });
}

// ---- changing ----

Ticket Files::make_folder(const Caller& caller, const Path& path,
                          const std::optional<Former>& former) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (path.is_top()) return taken(path);
    if (auto fine = check_former(state, caller, former); !fine) return fine;
    auto parent = find_parent(state, caller, path);
    if (!parent) return parent.error();
    const Node folder = state.tree.get(*parent);
    if (!may_write(state, caller, folder)) {
      return lacks_writing(state, caller, *parent,
                           fmt::format("You may not make a folder in {}.", path.parent().text()));
    }
    if (auto fine = check_not_handed_in(state, caller, *parent); !fine) return fine;
    if (state.tree.child(*parent, path.last())) return taken(path);
    if (auto fits = check_place(path_of(state, *parent) / path.last()); !fits) return fits;
    if (!former) {
      const Usage before = state.tree.usage(caller.account);
      auto allowed = check_growth(state, caller.account, caller.account, before,
                                  before + Usage{0, 1}, change.now(), grace_);
      if (!allowed) return allowed;
    }
    Node node;
    node.id = change.free_node();
    node.parent = *parent;
    node.name = path.last();
    node.alias = alias_for(state, *parent, node.name, node.id, former ? former->alias : "");
    node.folder = true;
    node.owner = caller.account;
    node.klass = folder.klass;
    node.access = folder.access.for_new_node();
    node.created = node.modified = change.now();
    if (former) {
      dress(state, node, *former);
      change.journal(caller, "brought back", path.text(), "from " + former->from);
    } else {
      change.journal(caller, "folder made", (path_of(state, *parent) / path.last()).text());
    }
    change.put(node);
    track_soft_limit(change, node.owner);
    change.deed(MakeFolder{Engine::host_path(state, node.id)});
    return {};
  });
}

Ticket Files::move(const Caller& caller, const Path& from, const Path& to) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (from.is_top() || to.is_top()) return denied("The top folder stays where it is.");
    auto id = find(state, caller, from);
    if (!id) return id.error();
    Node node = state.tree.get(*id);
    if (auto allowed = check_taking_out(state, caller, node, from); !allowed) return allowed;
    if (auto fine = check_nothing_kept(state, *id); !fine) return fine;
    auto parent = find_parent(state, caller, to);
    if (!parent) return parent.error();
    if (!may_write(state, caller, state.tree.get(*parent))) {
      return lacks_writing(state, caller, *parent,
                           fmt::format("You may not save in {}.", to.parent().text()));
    }
    if (auto fine = check_not_handed_in(state, caller, *parent); !fine) return fine;
    if (state.tree.is_within(*parent, *id)) {
      return Error{Code::bad_input, fmt::format("{} can't be moved into itself.", from.text())};
    }
    const auto existing = state.tree.child(*parent, to.last());
    if (existing && *existing != *id) return taken(to);
    // The deepest and longest path below must fit in the new place too.
    const Path target = path_of(state, *parent) / to.last();
    const std::size_t old_names = path_of(state, *id).names().size();
    Status fits = check_place(target);
    state.tree.each_below(*id, [&](NodeId below) {
      Path moved = target;
      const Path path = path_of(state, below);
      for (std::size_t i = old_names; i < path.names().size(); ++i) moved = moved / path.names()[i];
      if (fits) fits = check_place(moved);
    });
    if (!fits) return fits;
    const HostPath before = Engine::host_path(state, *id);
    if (node.name == to.last() && node.parent == *parent) return {};
    change.journal(caller, node.folder ? "folder moved" : "file moved", path_of(state, *id).text(),
                   "to " + target.text());
    const bool same = fold(node.name) == fold(to.last());
    node.name = to.last();
    node.parent = *parent;
    node.alias = alias_for(state, *parent, node.name, node.id, same ? node.alias : "");
    change.put(node);
    change.deed(MovePath{before, Engine::host_path(state, *id)});
    return {};
  });
}

Ticket Files::remove(const Caller& caller, const Path& path) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (path.is_top()) return denied("The top folder can't be removed.");
    auto id = find(state, caller, path);
    if (!id) return id.error();
    Node node = state.tree.get(*id);
    if (auto allowed = check_taking_out(state, caller, node, path); !allowed) return allowed;
    if (auto allowed = check_all_below(state, caller, *id, path); !allowed) return allowed;
    const HostPath before = Engine::host_path(state, *id);
    const Path was = path_of(state, *id);
    const auto owners = owners_below(state, *id);
    change.put(BinEntry{*id, node.owner, caller.account, change.now(), was.text()});
    node.name = bin_name(*id, node.name);
    node.parent = bin_root;
    change.put(node);
    for (const AccountId owner : owners) track_soft_limit(change, owner);
    change.deed(MovePath{before, Engine::host_path(state, *id)});
    change.journal(caller, node.folder ? "folder removed" : "file removed", was.text());
    return {};
  });
}

Ticket Files::set_access(const Caller& caller, const Path& path, std::string_view changes) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    auto id = find(state, caller, path);
    if (!id) return id.error();
    Node node = state.tree.get(*id);
    if (!is_as_owner(state, caller, node)) {
      return not_theirs(state, *id,
                        fmt::format("Only its owner may change the access of {}.", path.text()));
    }
    auto access = node.access.changed(changes);
    if (!access) return access.error();
    if (*access == node.access) return {};
    change.journal(caller, "access changed", path_of(state, *id).text(),
                   fmt::format("{} to {}", node.access.text(), access->text()));
    node.access = *access;
    change.put(node);
    return {};
  });
}

Ticket Files::set_details(const Caller& caller, const Path& file, Kind kind,
                          std::optional<std::uint32_t> load_address,
                          std::optional<std::uint32_t> entry_point) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    auto id = find(state, caller, file);
    if (!id) return id.error();
    Node node = state.tree.get(*id);
    if (node.folder) return Error{Code::is_a_folder, fmt::format("{} is a folder.", file.text())};
    if (!may_write(state, caller, node)) {
      return lacks_writing(state, caller, *id, fmt::format("You may not change {}.", file.text()));
    }
    if (node.access.has(Access::keep)) return kept(file);
    const std::string before = details_of(node);
    node.kind = kind;
    node.load_address = load_address;
    node.entry_point = entry_point;
    const std::string after = details_of(node);
    if (after == before) return {};
    change.journal(caller, "details changed", path_of(state, *id).text(),
                   fmt::format("{} to {}", before, after));
    change.put(node);
    return {};
  });
}

Ticket Files::set_owner(const Caller& caller, const Path& path, std::string_view name) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller))
      return for_managers("Only a manager may give files to somebody else.");
    auto id = find(state, caller, path);
    if (!id) return id.error();
    AccountId owner = no_account;
    if (!name.empty()) {
      const Account* account = state.account(ascii_lower(name));
      if (account == nullptr) {
        return Error{Code::not_found, fmt::format("There is no account {}.", clip(name, 40))};
      }
      owner = account->id;
    }
    Node node = state.tree.get(*id);
    const AccountId before = node.owner;
    change.journal(
        caller, "owner changed", path_of(state, *id).text(),
        fmt::format("{} to {}", before == no_account ? "nobody" : account_name_of(state, before),
                    owner == no_account ? "nobody" : ascii_lower(name)));
    node.owner = owner;
    change.put(node);
    track_soft_limit(change, before);
    track_soft_limit(change, owner);
    return {};
  });
}

Ticket Files::set_class(const Caller& caller, const Path& path, std::string_view name) {
  return engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!is_manager(state, caller))
      return for_managers("Only a manager may give files to a class.");
    auto id = find(state, caller, path);
    if (!id) return id.error();
    ClassId klass = no_class;
    if (!name.empty()) {
      const Class* found = state.class_of(ascii_lower(name));
      if (found == nullptr) {
        return Error{Code::not_found, fmt::format("There is no class {}.", clip(name, 40))};
      }
      klass = found->id;
    }
    Node node = state.tree.get(*id);
    change.journal(caller, "class changed", path_of(state, *id).text(),
                   klass == no_class ? "no class" : ascii_lower(name));
    node.klass = klass;
    change.put(node);
    return {};
  });
}

}  // namespace stationer::fs
