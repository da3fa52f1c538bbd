#include "fs/compare.h"

#include <map>
#include <set>
#include <tuple>

#include "fs/engine.h"

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

// Whether a difference is what the state has become since, or what is still to be settled.
bool is_ours(const Engine& engine, const State& state, NodeId folder, const Difference& each) {
  if (engine.is_under_way(each.path)) return true;
  if (each.node == no_node) {
    const auto there = state.tree.has(folder) ? state.tree.child(folder, each.path.name())
                                              : std::optional<NodeId>();
    return there && state.tree.get(*there).name == each.path.name();
  }
  return !state.tree.has(each.node) || Engine::host_path(state, each.node) != each.path ||
         engine.is_unplaced(state.tree.get(each.node).content);
}

}  // namespace

bool is_time_of(Time host, Time node) {
  return host == node || host == std::chrono::floor<std::chrono::seconds>(node);
}

Result<FolderLook> look_at_folder(Engine& engine, NodeId folder) {
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
  FolderLook out;
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
      out.differences.push_back(
          {strange ? Sort::strange : Sort::stray, no_node, place, std::move(entry)});
      continue;
    }
    const Expected node = found->second;
    expected.erase(found);
    if (entry.type != (node.folder ? HostEntry::Type::folder : HostEntry::Type::file)) {
      out.differences.push_back({Sort::blocked, node.node, place, std::move(entry)});
    } else if (node.folder) {
      out.folders.push_back(node.node);
    } else if (entry.size != node.size || !is_time_of(entry.modified, node.modified)) {
      out.differences.push_back({Sort::changed, node.node, place, std::move(entry)});
    }
  }
  for (const auto& [name, node] : expected) {
    out.differences.push_back({Sort::missing, node.node, path / name, {}});
  }
  if (out.differences.empty()) return out;
  out.under_way = engine.read([&](const State& state) {
    return std::erase_if(out.differences, [&](const Difference& each) {
      return is_ours(engine, state, folder, each);
    });
  }) != 0;
  return out;
}

Result<Differences> compare_folder(Engine& engine, NodeId folder) {
  auto first = look_at_folder(engine, folder);
  if (!first) return first.error();
  if (first->differences.empty()) return Differences();
  if (auto settled = engine.drain(); !settled) return settled.error();
  auto second = look_at_folder(engine, folder);
  if (!second) return second.error();
  std::set<std::tuple<HostPath, Sort, NodeId>> before;
  for (const auto& each : first->differences) before.emplace(each.path, each.sort, each.node);
  std::erase_if(second->differences, [&](const Difference& each) {
    return before.count({each.path, each.sort, each.node}) == 0;
  });
  return std::move(second->differences);
}

}  // namespace stationer::fs
