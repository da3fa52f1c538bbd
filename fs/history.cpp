#include "fs/history.h"

#include <algorithm>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/copy_content.h"
#include "fs/engine.h"
#include "fs/hand_ins.h"
#include "fs/rights.h"

namespace stationer::fs {
namespace {

void purge_version(Transaction& change, const Version& version) {
  change.remove_file(version_path(version.content, version.name), held_path(version.content));
  change.drop(Digest{version.content, {}});
  change.drop(version);
}

// The file at `path`, whose history the caller may see.
Result<Node> file_of_own(const State& state, const Caller& caller, const Path& path) {
  auto id = find(state, caller, path);
  if (!id) return id.error();
  Node node = state.tree.get(*id);
  if (node.folder) {
    return Error{Code::is_a_folder, fmt::format("{} is a folder, not a file.", path.text())};
  }
  if (!is_as_owner(state, caller, node)) {
    return Error{Code::denied,
                 fmt::format("Only its owner may see what {} was before.", path.text())};
  }
  return node;
}

VersionView view_of(const State& state, const Version& version) {
  VersionView view;
  view.id = version.content;
  view.size = version.size;
  view.kind = version.kind;
  view.load_address = version.load_address;
  view.entry_point = version.entry_point;
  view.saved = version.saved;
  view.replaced = version.replaced;
  const Account* by = state.account(version.replaced_by);
  view.replaced_by = by == nullptr ? "the keeper" : by->name;
  return view;
}

// All of the past that waits to be had back.
std::vector<Past> whole_past(const State& state) {
  std::vector<Past> all;
  for (const auto& [id, entry] : state.bin) {
    if (!state.tree.has(id)) continue;  // a damaged catalogue; the check tells
    Past removal{entry.owner, id, ContentId{0}, 0, entry.removed, false};
    state.tree.each_below(id, [&](NodeId below) {
      const Node node = state.tree.get(below);
      removal.size += node.size;
      removal.kept = removal.kept || node.access.has(Access::keep);
    });
    all.push_back(removal);
  }
  for (const auto& [key, version] : state.versions) {
    if (!state.tree.has(version.node)) continue;
    const Node node = state.tree.get(version.node);
    all.push_back({node.owner, version.node, version.content, version.size, version.replaced,
                   node.access.has(Access::keep)});
  }
  return all;
}

}  // namespace

std::vector<Version> versions_of(const State& state, NodeId node) {
  std::vector<Version> out;
  for (auto at = state.versions.lower_bound({node, ContentId{0}});
       at != state.versions.end() && at->first.first == node; ++at) {
    out.push_back(at->second);
  }
  return out;
}

void purge_node(Transaction& change, NodeId id) {
  const State& state = change.state();
  const Node node = state.tree.get(id);
  for (const auto& version : versions_of(state, id)) purge_version(change, version);
  if (node.folder) {
    change.deed(RemovePath{Engine::host_path(state, id), true});
  } else {
    change.remove_file(Engine::host_path(state, id), held_path(node.content));
    change.drop(Digest{node.content, {}});
  }
  change.drop(node);
  forget_hand_ins(change, id);
}

void purge_below(Transaction& change, NodeId top) {
  const State& state = change.state();
  std::vector<NodeId> below;
  if (state.tree.has(top)) state.tree.each_below(top, [&](NodeId id) { below.push_back(id); });
  // What is in a folder goes before the folder.
  for (auto id = below.rbegin(); id != below.rend(); ++id) purge_node(change, *id);
}

void purge_removal(Transaction& change, NodeId top) {
  purge_below(change, top);
  change.drop(BinEntry{top, {}, {}, {}, {}});
}

Result<std::vector<VersionView>> History::versions(const Caller& caller, const Path& file) const {
  return engine_.read([&](const State& state) -> Result<std::vector<VersionView>> {
    auto node = file_of_own(state, caller, file);
    if (!node) return node.error();
    std::vector<VersionView> views;
    for (const auto& version : versions_of(state, node->id)) {
      views.push_back(view_of(state, version));
    }
    // Contents are numbered as they come.
    std::reverse(views.begin(), views.end());
    return views;
  });
}

Result<Version> History::find_version(const State& state, const Caller& caller, const Path& file,
                                      ContentId version) const {
  auto node = file_of_own(state, caller, file);
  if (!node) return node.error();
  const auto found = state.versions.find({node->id, version});
  if (found == state.versions.end()) {
    return Error{Code::not_found, fmt::format("{} has no such version (any more).", file.text())};
  }
  return found->second;
}

Result<Content> History::read(const Caller& caller, const Path& file, ContentId version) const {
  return engine_.open_version(
      [&](const State& state) { return find_version(state, caller, file, version); });
}

Ticket History::restore(const Caller& caller, const Path& file, ContentId version) {
  std::optional<Version> found;
  auto content = engine_.open_version([&](const State& state) -> Result<Version> {
    auto one = find_version(state, caller, file, version);
    if (one) found = *one;
    return one;
  });
  if (!content) return content.error();
  auto upload =
      files_.save(caller, file, {true, found->kind, found->load_address, found->entry_point});
  if (!upload) return upload.error();
  return copy_content(*content, *upload);
}

Result<std::uint64_t> History::shortage() {
  auto space = engine_.space();  // without the keeper's reserve
  if (!space) return space.error();
  // Begins before saves have to be refused.
  const std::uint64_t comfortable = std::min(engine_.reserve(), space->total_bytes / 20);
  // During a hold nothing that is taken away makes room.
  if (space->free_bytes >= comfortable || engine_.is_held()) return std::uint64_t{0};
  return comfortable - space->free_bytes;
}

Result<std::size_t> History::thin_when_due() {
  const std::lock_guard lock(mutex_);
  const Time now = engine_.now();
  auto short_of = shortage();
  if (!short_of) return short_of.error();
  // A clock that was set back must not put it off for longer.
  const bool rests = next_look_ && now < *next_look_ && *next_look_ - now <= pause;
  if (rests && *short_of == 0) return std::size_t{0};
  next_look_.reset();
  auto thinned = thin();
  if (thinned && *thinned == 0) next_look_ = now + pause;
  return thinned;
}

Result<std::size_t> History::thin(std::size_t most) {
  auto short_of = shortage();
  if (!short_of) return short_of.error();
  auto past = engine_.read([](const State& state) { return whole_past(state); });
  auto going = outdated(std::move(past), retention_, engine_.now(), *short_of);
  if (going.empty()) return std::size_t{0};
  if (going.size() > most) going.resize(most);
  auto ticket = engine_.change([&](Transaction& change) -> Status {
    const State& state = change.state();
    for (const Past& each : going) {
      if (each.is_removal()) {
        if (state.bin.count(each.node) != 0) purge_removal(change, each.node);
      } else if (const auto found = state.versions.find({each.node, each.content});
                 found != state.versions.end()) {
        const Version version = found->second;
        purge_version(change, version);
      }
    }
    change.journal({no_account, true, "the service"}, "history thinned", "",
                   fmt::format("{} things that were kept long enough, since {:%Y-%m-%d}",
                               going.size(), going.front().since));
    return {};
  });
  if (auto done = ticket.wait(); !done) return done.error();
  return going.size();
}

}  // namespace stationer::fs
