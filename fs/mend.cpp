#include "fs/mend.h"

#include <fmt/format.h>

#include "fs/engine.h"
#include "fs/hash_content.h"
#include "fs/limits.h"
#include "fs/node_name.h"
#include "fs/text.h"
#include "fs/upkeep.h"

namespace stationer::fs {
namespace {

// The like of `wanted` that can be a name.
std::string cleaned(std::string_view wanted) {
  if (check_name(wanted)) return std::string(wanted);
  std::string out;
  for (const char c : wanted) {
    const auto byte = static_cast<unsigned char>(c);
    const bool plain = byte > 0x20 && byte < 0x7F &&
                       std::string_view("/\\:*?\"<>|").find(c) == std::string_view::npos;
    out += plain || (c == ' ' && !out.empty()) ? c : '_';
  }
  out = "_" + std::string(clip(out, longest_name - 2));
  while (out.back() == ' ' || out.back() == '.') out.pop_back();
  return check_name(out) ? out : "nameless";
}

}  // namespace

Status change_now(Engine& engine, const std::function<Status(Transaction&)>& make) {
  return engine.change(make).wait();
}

std::string free_name(const State& state, NodeId folder, std::string_view wanted) {
  const std::string plain = cleaned(wanted);
  if (!state.tree.child(folder, plain)) return plain;
  const auto dot = plain.rfind('.');
  const std::string stem = plain.substr(0, dot);
  const std::string end = dot == std::string::npos ? "" : plain.substr(dot);
  for (int n = 2;; ++n) {
    const std::string tail = fmt::format(" ({}){}", n, end.size() <= 32 ? end : "");
    const std::string name = std::string(clip(stem, longest_name - tail.size())) + tail;
    if (check_name(name) && !state.tree.child(folder, name)) return name;
  }
}

NodeId found_folder(Transaction& change) {
  const State& state = change.state();
  const auto there = state.tree.child(files_root, "found");
  if (there) {
    const Node node = state.tree.get(*there);
    // Somebody's own folder of that name, or a file, is not ours to fill.
    if (node.folder && node.owner == no_account) return *there;
  }
  Node node;
  node.id = change.free_node();
  node.parent = files_root;
  node.name = free_name(state, files_root, "found");
  node.alias = alias_for(state, files_root, node.name, node.id);
  node.folder = true;
  node.access = Access(Access::owner_read | Access::owner_write);
  node.created = node.modified = change.now();
  change.put(node);
  change.deed(MakeFolder{Engine::host_path(state, node.id)});
  return node.id;
}

void put_elsewhere(Transaction& change, Node node, NodeId folder, std::string name, bool moves) {
  const State& state = change.state();
  const HostPath before = moves ? Engine::host_path(state, node.id) : HostPath();
  node.parent = folder;
  node.name = std::move(name);
  node.alias = alias_for(state, folder, node.name, node.id);
  change.put(node);
  track_soft_limit(change, node.owner);
  if (moves) change.deed(MovePath{before, Engine::host_path(state, node.id)});
}

Result<HostPath> rescue_place(Engine& engine, std::string_view name) {
  for (;;) {
    const std::string start = fmt::format("{} ", number(engine.new_content()));
    const HostPath place =
        HostPath() / "rescued" / (start + std::string(clip(name, longest_name - start.size())));
    auto there = engine.files().look(place);
    if (!there) return there.error();
    if (!*there) return place;
  }
}

Result<std::optional<Reading>> read_through(HostFiles& files, const HostPath& path) {
  auto before = files.look(path);
  if (!before) return before.error();
  if (!*before || (*before)->type != HostEntry::Type::file) return std::optional<Reading>();
  auto file = files.open(path);
  if (!file) return file.error();
  auto hashed = hash_content(**file);
  if (!hashed) return hashed.error();
  auto after = files.look(path);
  if (!after) return after.error();
  if (!*after || (*after)->size != hashed->size || (*after)->modified != (*before)->modified) {
    return std::optional<Reading>();
  }
  return std::optional(Reading{hashed->hash, hashed->size, (*after)->modified});
}

}  // namespace stationer::fs
