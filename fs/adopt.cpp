#include "fs/adopt.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/files.h"
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

// Reads a file through and makes it durable, with its name.
Result<Reading> read_durably(HostFiles& files, const HostPath& path) {
  auto file = files.open(path);
  if (!file) return file.error();
  if (auto synced = (*file)->sync(); !synced) return synced.error();
  if (auto synced = files.sync_folder(path.folder()); !synced) return synced.error();
  auto reading = read_through(files, path);
  if (!reading) return reading.error();
  if (!*reading) return busy(path);
  return **reading;
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
    return Error{Code::exists, fmt::format("Stations could not tell it from \"{}\".",
                                           state.tree.get(*other).name)};
  }
  return check_place(Files::path_of(state, folder) / std::string(name));
}

Status take_in(Engine& engine, const Caller& caller, NodeId folder, const Difference& stray) {
  const HostPath& path = stray.path;
  const auto allowed = [&](const State& state) -> Status {
    if (auto can = can_take_in(state, folder, path.name()); !can) return can;
    if (Engine::host_path(state, folder) != path.folder() || engine.awaits_move(path)) {
      return busy(path);
    }
    return {};
  };
  if (auto can = engine.read(allowed); !can) return can;

  if (stray.entry.type == HostEntry::Type::folder) {
    NodeId made{};
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
    if (!done) return done;
    auto below = compare_folder(engine, made);
    if (!below) return below.error();
    Status status;
    for (const auto& each : *below) {
      if (each.sort != Difference::Sort::stray) continue;
      if (auto taken = take_in(engine, caller, made, each); !taken) status = taken;
    }
    return status;
  }

  auto reading = read_durably(engine.files(), path);
  if (!reading) return reading.error();
  return change_now(engine, [&](Transaction& change) -> Status {
    if (auto can = allowed(change.state()); !can) return can;
    if (!is_still(engine.files(), path, *reading)) return busy(path);
    Node node = new_node(change, folder, path.name());
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
}

Status take_contents(Engine& engine, const Caller& caller, NodeId file) {
  HostPath path;
  ContentId before{};
  const auto allowed = [&](const State& state) -> Status {
    if (!state.tree.has(file) || state.tree.get(file).folder) {
      return Error{Code::not_found, "The file is not there any more."};
    }
    const Node node = state.tree.get(file);
    const HostPath place = Engine::host_path(state, file);
    const bool same = path.is_volume() || (place == path && node.content == before);
    if (!same || engine.is_unplaced(node.content) || engine.awaits_move(place)) return busy(place);
    path = place;
    before = node.content;
    return {};
  };
  if (auto can = engine.read(allowed); !can) return can;
  auto reading = read_durably(engine.files(), path);
  if (!reading) return reading.error();
  return change_now(engine, [&](Transaction& change) -> Status {
    if (auto can = allowed(change.state()); !can) return can;
    if (!is_still(engine.files(), path, *reading)) return busy(path);
    Node node = change.state().tree.get(file);
    change.journal(caller, "changed on the host", path.text(),
                   fmt::format("{} bytes before, {} now", node.size, reading->size));
    node.size = reading->size;
    node.content = engine.new_content();
    node.modified = std::min(reading->modified, change.now());
    change.put(node);
    if (before != ContentId{}) change.drop(Digest{before, {}});
    change.put(Digest{node.content, reading->hash});
    track_soft_limit(change, node.owner);
    return {};
  });
}

}  // namespace stationer::fs
