#include "fs/compare.h"

#include <map>
#include <set>
#include <tuple>

namespace stationer::fs {
namespace {

using Sort = Difference::Sort;
using Differences = std::vector<Difference>;

// What a name on the host should be.
struct Expected {
  NodeId node{};
  bool folder = false;
  std::uint64_t size = 0;
  Time modified{};
};

Result<Differences> compare_once(Engine& engine, NodeId folder) {
  HostPath path;
  std::map<std::string, Expected> expected;
  const bool there = engine.read([&](const State& state) {
    if (!state.tree.has(folder)) return false;
    path = Engine::host_path(state, folder);
    state.tree.each_child(folder, [&](NodeId id) {
      Node node = state.tree.get(id);
      expected[std::move(node.name)] = {id, node.folder, node.size, node.modified};
    });
    return true;
  });
  Differences out;
  if (!there) return out;
  auto entries = engine.files().list(path);
  if (!entries) {
    switch (entries.error().code) {
      case Code::not_found:
      case Code::not_a_folder:
      case Code::damaged: entries = std::vector<HostEntry>(); break;  // told with the folder above
      default: return entries.error();
    }
  }
  for (auto& entry : *entries) {
    const HostPath place = path / entry.name;
    const auto found = expected.find(entry.name);
    if (found == expected.end()) {
      const bool strange = entry.type == HostEntry::Type::other;
      out.push_back({strange ? Sort::strange : Sort::stray, no_node, place, std::move(entry)});
      continue;
    }
    const Expected node = found->second;
    expected.erase(found);
    if (entry.type != (node.folder ? HostEntry::Type::folder : HostEntry::Type::file)) {
      out.push_back({Sort::blocked, node.node, place, std::move(entry)});
    } else if (!node.folder && (entry.size != node.size || entry.modified != node.modified)) {
      out.push_back({Sort::changed, node.node, place, std::move(entry)});
    }
  }
  for (const auto& [name, node] : expected) {
    out.push_back({Sort::missing, node.node, path / name, {}});
  }
  return out;
}

}  // namespace

Result<Differences> compare_folder(Engine& engine, NodeId folder) {
  auto first = compare_once(engine, folder);
  if (!first || first->empty()) return first;
  if (auto settled = engine.drain(); !settled) return settled.error();
  auto second = compare_once(engine, folder);
  if (!second) return second;
  std::set<std::tuple<HostPath, Sort, NodeId>> before;
  for (const auto& each : *first) before.emplace(each.path, each.sort, each.node);
  std::erase_if(*second, [&](const Difference& each) {
    return before.count({each.path, each.sort, each.node}) == 0;
  });
  return second;
}

}  // namespace stationer::fs
