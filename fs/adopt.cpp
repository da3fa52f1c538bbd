#include "fs/adopt.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/engine.h"
#include "fs/files.h"
#include "fs/hand_ins.h"
#include "fs/history.h"
#include "fs/limits.h"
#include "fs/mend.h"
#include "fs/node_name.h"
#include "fs/upkeep.h"

namespace stationer::fs {
namespace {

Error busy(const HostPath& path) {
  return {Code::busy, fmt::format("\"{}\" is still being written; it is taken in once it is whole.",
                                  path.text())};
}

// Whether the host still has at `path` what was read there.
bool is_still(HostFiles& files, const HostPath& path, const Reading& reading) {
  const auto there = files.look(path);
  return there && *there && (*there)->type == HostEntry::Type::file &&
         (*there)->size == reading.size && (*there)->modified == reading.modified;
}

// Whom new nodes in a folder belong to: as the nearest folder above that is a member's or a
// class's.
AccountId owner_for(const State& state, NodeId folder) {
  for (NodeId at = folder; at != no_node && at != files_root; at = state.tree.parent(at)) {
    const Node node = state.tree.get(at);
    if (node.owner != no_account || node.klass != no_class) return node.owner;
  }
  return no_account;
}

// What Stationer laid out itself: the starting tree, what members and classes have of their own,
// and where work is handed in.
bool is_fixture(const State& state, const Node& folder) {
  if (state.hand_ins.count(folder.id) != 0) return true;
  if (folder.parent == files_root) {
    constexpr std::string_view names[] = {"programs", "classes", "members", "public"};
    return std::find(std::begin(names), std::end(names), folder.name) != std::end(names);
  }
  const Node above = state.tree.get(folder.parent);
  return above.parent == files_root && (above.name == "members" || above.name == "classes");
}

Node new_node(Transaction& change, NodeId folder, std::string_view name) {
  const State& state = change.state();
  const Node above = state.tree.get(folder);
  Node node;
  node.id = change.free_node();
  node.parent = folder;
  node.name = name;
  node.alias = alias_for(state, folder, name, node.id);
  node.owner = owner_for(state, folder);
  node.klass = above.klass;
  node.access = above.access.for_new_node();
  node.created = node.modified = change.now();
  return node;
}

}  // namespace

Status can_take_in(const State& state, NodeId folder, std::string_view name) {
  if (auto fine = check_name(name); !fine) return fine;
  if (!state.tree.has(folder) || !state.tree.is_within(folder, files_root)) {
    return Error{Code::not_found, "Its folder is not there any more."};
  }
  if (const auto other = state.tree.child(folder, name)) {
    if (state.tree.get(*other).name == name) {
      return Error{Code::busy, fmt::format("\"{}\" was saved just now.", name)};
    }
    return Error{Code::exists, fmt::format("Stations could not tell it from \"{}\".",
                                           state.tree.get(*other).name)};
  }
  return check_place(Files::path_of(state, folder) / std::string(name));
}

Result<Reading> read_durably(HostFiles& files, const HostPath& path) {
  auto file = files.open(path);
  if (!file) return file.error();
  auto written = (*file)->has_writer();
  if (!written) return written.error();
  if (*written) return busy(path);
  if (auto synced = (*file)->sync(); !synced) return synced.error();
  if (auto synced = files.sync_folder(path.folder()); !synced) return synced.error();
  auto reading = read_through(files, path);
  if (!reading) return reading.error();
  if (!*reading) return busy(path);
  return **reading;
}

Result<NodeId> take_in_one(Engine& engine, const Caller& caller, NodeId folder,
                           const Difference& stray) {
  const HostPath& path = stray.path;
  const auto allowed = [&](const State& state) -> Status {
    if (auto can = can_take_in(state, folder, path.name()); !can) return can;
    if (Engine::host_path(state, folder) != path.folder() || engine.is_under_way(path)) {
      return busy(path);
    }
    return {};
  };
  if (auto can = engine.read(allowed); !can) return can.error();

  NodeId made{};
  if (stray.entry.type == HostEntry::Type::folder) {
    auto done = change_now(engine, [&](Transaction& change) -> Status {
      if (auto can = allowed(change.state()); !can) return can;
      Node node = new_node(change, folder, path.name());
      node.folder = true;
      made = node.id;
      change.put(node);
      track_soft_limit(change, node.owner);
      change.deed(MakeFolder{path});
      change.journal(caller, "taken in from the host", path.text(), "a folder");
      return {};
    });
    if (!done) return done.error();
    return made;
  }

  auto reading = read_durably(engine.files(), path);
  if (!reading) return reading.error();
  auto done = change_now(engine, [&](Transaction& change) -> Status {
    if (auto can = allowed(change.state()); !can) return can;
    if (!is_still(engine.files(), path, *reading)) return busy(path);
    Node node = new_node(change, folder, path.name());
    made = node.id;
    node.size = reading->size;
    node.content = engine.new_content();
    node.modified = std::min(reading->modified, change.now());
    change.put(node);
    change.put(Digest{node.content, reading->hash});
    track_soft_limit(change, node.owner);
    change.journal(caller, "taken in from the host", path.text(),
                   fmt::format("{} bytes", reading->size));
    return {};
  });
  if (!done) return done.error();
  return made;
}

Status take_in(Engine& engine, const Caller& caller, NodeId folder, const Difference& stray) {
  auto made = take_in_one(engine, caller, folder, stray);
  if (!made) return made.error();
  if (stray.entry.type != HostEntry::Type::folder) return {};
  auto below = compare_folder(engine, *made);
  if (!below) return below.error();
  Status status;
  for (const auto& each : *below) {
    if (each.sort != Difference::Sort::stray) continue;
    if (auto taken = take_in(engine, caller, *made, each); !taken) status = taken;
  }
  return status;
}

Result<bool> take_contents(Engine& engine, const Caller& caller, NodeId file) {
  HostPath path;
  ContentId before{};
  const auto allowed = [&](const State& state) -> Status {
    if (!state.tree.has(file) || state.tree.get(file).folder) {
      return Error{Code::not_found, "The file is not there any more."};
    }
    const Node node = state.tree.get(file);
    const HostPath place = Engine::host_path(state, file);
    const bool same = path.is_volume() || (place == path && node.content == before);
    if (!same || engine.is_unplaced(node.content) || engine.is_under_way(place)) return busy(place);
    path = place;
    before = node.content;
    return {};
  };
  if (auto can = engine.read(allowed); !can) return can.error();
  auto reading = read_durably(engine.files(), path);
  if (!reading) return reading.error();
  // The hash of what was placed a moment ago is not in the catalogue yet.
  auto saved = engine.catalog().digest(before);
  if (saved && !*saved && before != ContentId{}) {
    if (auto settled = engine.drain(); !settled) return settled.error();
    saved = engine.catalog().digest(before);
  }
  if (!saved) return saved.error();
  bool others = false;
  auto done = change_now(engine, [&](Transaction& change) -> Status {
    if (auto can = allowed(change.state()); !can) return can;
    if (!is_still(engine.files(), path, *reading)) return busy(path);
    Node node = change.state().tree.get(file);
    // A file whose contents were lost has none: an empty one is no news.
    const bool still_lost = before == ContentId{} && reading->size == 0;
    others = !still_lost && (node.size != reading->size || !*saved || **saved != reading->hash);
    node.modified = std::min(reading->modified, change.now());
    if (!others) {
      change.put(node);
      return {};
    }
    change.journal(caller, "changed on the host", path.text(),
                   fmt::format("{} bytes before, {} now", node.size, reading->size));
    node.size = reading->size;
    node.content = engine.new_content();
    change.put(node);
    if (before != ContentId{}) change.drop(Digest{before, {}});
    change.put(Digest{node.content, reading->hash});
    track_soft_limit(change, node.owner);
    return {};
  });
  if (!done) return done.error();
  return others;
}

Result<bool> take_former(Engine& engine, const Caller& caller, const Version& version) {
  const HostPath path = version_path(version.content, version.name);
  auto reading = read_durably(engine.files(), path);
  if (!reading) return reading.error();
  if (auto settled = engine.drain(); !settled) return settled.error();
  auto saved = engine.catalog().digest(version.content);
  if (!saved) return saved.error();
  bool others = false;
  auto done = change_now(engine, [&](Transaction& change) -> Status {
    const auto found = change.state().versions.find({version.node, version.content});
    if (found == change.state().versions.end()) return {};
    if (!is_still(engine.files(), path, *reading)) return busy(path);
    Version row = found->second;
    others = row.size != reading->size || !*saved || **saved != reading->hash;
    if (others) {
      change.journal(
          caller, "changed on the host", path.text(),
          fmt::format("before it was replaced: {} bytes before, {} then", row.size, reading->size));
      change.put(Digest{row.content, reading->hash});
    }
    row.size = reading->size;
    row.saved = std::min(reading->modified, change.now());
    change.put(std::move(row));
    return {};
  });
  if (!done) return done.error();
  return others;
}

Status take_move(Engine& engine, const Caller& caller, NodeId id, NodeId folder, const HostPath& to,
                 const std::optional<Reading>& reading) {
  HostFiles& files = engine.files();
  if (auto synced = files.sync_folder(to.folder()); !synced) return synced;
  return change_now(engine, [&](Transaction& change) -> Status {
    const State& state = change.state();
    if (!state.tree.has(id) || !state.tree.has(folder) ||
        Engine::host_path(state, folder) != to.folder() || state.tree.is_within(folder, id)) {
      return Error{Code::not_found, "It is not there any more."};
    }
    Node node = state.tree.get(id);
    const HostPath from = Engine::host_path(state, id);
    bool waits = engine.is_under_way(from) || engine.is_under_way(to);
    state.tree.each_below(id, [&](NodeId below) {
      waits = waits || engine.is_unplaced(state.tree.get(below).content);
    });
    if (waits) return busy(to);
    const auto old_place = files.look(from);
    if (!old_place || *old_place) return busy(from);
    const auto there = files.look(to);
    if (!there) return there.error();
    const auto type = node.folder ? HostEntry::Type::folder : HostEntry::Type::file;
    if (!*there || (*there)->type != type || (reading && !is_still(files, to, *reading))) {
      return busy(to);
    }
    const auto other = state.tree.child(folder, to.name());
    if (!other || *other != id) {
      if (auto can = can_take_in(state, folder, to.name()); !can) return can;
    } else if (auto fine = check_name(to.name()); !fine) {
      return fine;
    }
    change.journal(caller, "moved on the host", from.text(), "to " + to.text());
    if (reading) node.modified = std::min(reading->modified, change.now());
    put_elsewhere(change, std::move(node), folder, std::string(to.name()), false);
    return {};
  });
}

Result<std::string> take_away(Engine& engine, const Caller& caller, NodeId id) {
  std::string sentence;
  auto done = change_now(engine, [&](Transaction& change) -> Status {
    const State& state = change.state();
    const Error not_so{Code::not_found, "It is there."};
    if (!state.tree.has(id) || id == files_root || !state.tree.is_within(id, files_root)) {
      return not_so;
    }
    Node node = state.tree.get(id);
    const HostPath path = Engine::host_path(state, id);
    if (engine.is_unplaced(node.content) || engine.is_under_way(path)) return busy(path);
    const auto there = engine.files().look(path);
    if (!there) return there.error();
    if (*there) return not_so;
    if (node.folder && (state.tree.has_children(id) || is_fixture(state, node))) {
      change.deed(MakeFolder{path});
      sentence =
          "The folder was made again, because it belongs to how the room is laid out, or "
          "something is still in it.";
      change.journal(caller, "gone from the host", path.text(), "the folder was made again");
      return {};
    }
    const auto versions = versions_of(state, id);
    if (!node.folder && state.account(node.owner) != nullptr) {
      leave_notice(
          change, node.owner,
          "Files of yours were taken away at the box. What they were before is in the bin; "
          "the keeper can tell of the others.");
    }
    if (node.folder || versions.empty()) {
      if (!node.folder) change.drop(Digest{node.content, {}});
      change.drop(node);
      forget_hand_ins(change, id);
      track_soft_limit(change, node.owner);
      sentence = node.folder ? "The folder is gone from the tree, too."
                             : "Its contents are gone with it; there was no former one to keep.";
      change.journal(
          caller, "gone from the host", path.text(),
          node.folder ? "a folder" : fmt::format("{} bytes, with no former content", node.size));
      return {};
    }
    const Version newest = versions.back();
    change.journal(caller, "gone from the host", path.text(),
                   fmt::format("{} bytes; what it was before, {} bytes, is in the bin", node.size,
                               newest.size));
    sentence = "What it was before is in the bin.";
    change.put(
        BinEntry{id, node.owner, no_account, change.now(), Files::path_of(state, id).text()});
    change.drop(Digest{node.content, {}});
    change.drop(newest);
    node.content = newest.content;
    node.size = newest.size;
    node.kind = newest.kind;
    node.load_address = newest.load_address;
    node.entry_point = newest.entry_point;
    node.modified = newest.saved;
    node.name = bin_name(id, node.name);
    node.alias.clear();
    node.parent = bin_root;
    change.put(node);
    track_soft_limit(change, node.owner);
    change.deed(MovePath{version_path(newest.content, newest.name), Engine::host_path(state, id)});
    return {};
  });
  if (!done) return done.error();
  return sentence;
}

}  // namespace stationer::fs
