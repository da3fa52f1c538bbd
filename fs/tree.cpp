#include "fs/tree.h"

#include <algorithm>
#include <stdexcept>

namespace stationer::fs {
namespace {

enum Flag : std::uint8_t {
  used = 1,
  folder_flag = 2,
  has_load_address = 4,
  has_entry_point = 8,
  kind_shift = 4,  // two bits from here
};

Label label_of(const Node& node) {
  return {node.id,
          node.parent,
          node.name,
          node.alias,
          node.load_address.value_or(0),
          node.entry_point.value_or(0)};
}

}  // namespace

Tree::Tree(std::uint64_t seed) : names_(seed) {}

bool Tree::has(NodeId id) const {
  return number(id) / block_size < blocks_.size() && (item(id).flags & used) != 0;
}

Node Tree::get(NodeId id) const {
  if (!has(id)) throw std::logic_error("a node was asked for that is not there");
  const Item& from = item(id);
  Node node;
  node.id = id;
  node.parent = from.parent;
  const Label by = label(id);
  node.name = by.name;
  node.alias = by.alias;
  node.folder = (from.flags & folder_flag) != 0;
  node.kind = static_cast<Kind>(from.flags >> kind_shift & 3u);
  node.owner = from.owner;
  node.klass = from.klass;
  node.access = from.access;
  if ((from.flags & has_load_address) != 0) node.load_address = by.load_address;
  if ((from.flags & has_entry_point) != 0) node.entry_point = by.entry_point;
  node.size = from.size;
  node.content = from.content;
  node.created = from.created;
  node.modified = from.modified;
  return node;
}

bool Tree::is_folder(NodeId id) const {
  return (item(id).flags & folder_flag) != 0;
}

std::optional<NodeId> Tree::child(NodeId folder, std::string_view name) const {
  return names_.find(folder, name);
}

bool Tree::has_children(NodeId folder) const {
  return item(folder).first_child != no_node;
}

void Tree::each_child(NodeId folder, const std::function<void(NodeId)>& use) const {
  for (NodeId id = item(folder).first_child; id != no_node;) {
    const NodeId next = item(id).next;
    if (next != no_node) names_.fetch(item(next).key);
    use(id);
    id = next;
  }
}

void Tree::each_below(NodeId top, const std::function<void(NodeId)>& use) const {
  std::vector<NodeId> waiting{top};
  while (!waiting.empty()) {
    const NodeId id = waiting.back();
    waiting.pop_back();
    use(id);
    each_child(id, [&](NodeId child) { waiting.push_back(child); });
  }
}

bool Tree::is_within(NodeId id, NodeId top) const {
  for (; id != no_node; id = item(id).parent) {
    if (id == top) return true;
  }
  return false;
}

NodeId Tree::free_id() {
  while (!free_.empty()) {
    const NodeId id = free_.back();
    if (!has(id) && set_apart_.count(id) == 0) return id;
    free_.pop_back();
  }
  add_block();
  return free_.back();
}

void Tree::add_block() {
  const std::size_t first = blocks_.size() * block_size;
  blocks_.push_back(std::make_unique<Block>());
  // Numbers 0 to 2 are nobody and the two roots. The lowest free one is given out first.
  for (std::size_t at = first + block_size; at-- > std::max<std::size_t>(first, 3);) {
    free_.push_back(NodeId{static_cast<std::uint32_t>(at)});
  }
}

void Tree::store(const Node& node) {
  while (number(node.id) / block_size >= blocks_.size()) add_block();
  Item& into = item(node.id);
  into.parent = node.parent;
  into.flags = static_cast<std::uint8_t>(
      used | (node.folder ? folder_flag : 0) | (node.load_address ? has_load_address : 0) |
      (node.entry_point ? has_entry_point : 0) | static_cast<unsigned>(node.kind) << kind_shift);
  into.owner = node.owner;
  into.klass = node.klass;
  into.access = node.access;
  into.size = node.size;
  into.content = node.content;
  into.created = node.created;
  into.modified = node.modified;
}

void Tree::link(NodeId id) {
  Item& self = item(id);
  if (self.parent != no_node) {
    Item& above = item(self.parent);
    self.previous = no_node;
    self.next = above.first_child;
    if (self.next != no_node) item(self.next).previous = id;
    above.first_child = id;
  }
}

void Tree::unlink(NodeId id) {
  Item& self = item(id);
  if (self.parent != no_node) {
    if (self.previous != no_node) {
      item(self.previous).next = self.next;
    } else {
      item(self.parent).first_child = self.next;
    }
    if (self.next != no_node) item(self.next).previous = self.previous;
  }
  self.next = self.previous = no_node;
}

bool Tree::is_counted(NodeId id) const {
  return is_within(id, files_root);
}

void Tree::count(NodeId id, int sign) {
  const Item& self = item(id);
  Usage& usage = usage_[number(self.owner)];
  usage.files = sign > 0 ? usage.files + 1 : usage.files - 1;
  usage.bytes = sign > 0 ? usage.bytes + self.size : usage.bytes - self.size;
}

void Tree::count_below(NodeId id, int sign) {
  each_below(id, [&](NodeId each) { count(each, sign); });
}

std::optional<Node> Tree::put(const Node& node) {
  if (node.parent != no_node && !has(node.parent)) {
    throw std::logic_error("a node was put into a folder that is not there");
  }
  if (!has(node.id)) {
    store(node);
    item(node.id).key = names_.add(label_of(node));
    link(node.id);
    ++count_;
    if (is_counted(node.id)) count(node.id, +1);
    return std::nullopt;
  }
  const Node before = get(node.id);
  const bool moved = before.parent != node.parent;
  const bool renamed = label(node.id) != label_of(node);
  const bool was_counted = is_counted(node.id);
  if (was_counted && moved) {
    count_below(node.id, -1);
  } else if (was_counted) {
    count(node.id, -1);
  }
  if (renamed) names_.remove(item(node.id).key, node.id);
  if (moved) unlink(node.id);
  store(node);
  if (renamed) item(node.id).key = names_.add(label_of(node));
  if (moved) link(node.id);
  const bool counts = is_counted(node.id);
  if (counts && moved) {
    count_below(node.id, +1);
  } else if (counts) {
    count(node.id, +1);
  }
  return before;
}

std::optional<Node> Tree::drop(NodeId id) {
  if (!has(id)) return std::nullopt;
  if (has_children(id)) throw std::logic_error("a folder was dropped with nodes in it");
  Node before = get(id);
  if (is_counted(id)) count(id, -1);
  unlink(id);
  names_.remove(item(id).key, id);
  item(id) = Item();
  free_.push_back(id);
  --count_;
  return before;
}

void Tree::load(const Node& node) {
  if (has(node.id)) return;  // a damaged catalogue
  store(node);
  item(node.id).key = names_.load(label_of(node));
  ++count_;
}

std::vector<Node> Tree::link_all() {
  names_.build();
  std::vector<NodeId> all;
  all.reserve(count_);
  for (std::size_t at = 0; at < blocks_.size() * block_size; ++at) {
    const NodeId id{static_cast<std::uint32_t>(at)};
    if (has(id)) all.push_back(id);
  }
  // A node belongs if the way up ends at a root. `depth` also ends circles.
  const auto belongs = [&](NodeId id) {
    for (std::size_t depth = 0; depth <= 4096; ++depth) {
      const NodeId up = item(id).parent;
      if (up == no_node) return id == files_root || id == bin_root;
      if (!has(up) || !is_folder(up)) return false;
      id = up;
    }
    return false;
  };
  std::vector<Node> lost;
  for (const NodeId id : all) {
    if (!belongs(id)) lost.push_back(get(id));
  }
  for (const Node& node : lost) {
    names_.remove(item(node.id).key, node.id);
    item(node.id) = Item();
    set_apart_.insert(node.id);
    --count_;
  }
  // Nothing is kept for numbers that are in use.
  std::erase_if(free_, [&](NodeId id) { return has(id); });
  free_.shrink_to_fit();
  for (const NodeId id : all) {
    if (has(id)) link(id);
  }
  if (has(files_root)) recount();
  return lost;
}

Usage Tree::usage(AccountId account) const {
  const auto found = usage_.find(number(account));
  return found == usage_.end() ? Usage{} : found->second;
}

std::unordered_map<std::uint32_t, Usage> Tree::counted() const {
  std::unordered_map<std::uint32_t, Usage> sums;
  each_below(files_root, [&](NodeId id) {
    Usage& sum = sums[number(item(id).owner)];
    sum = sum + Usage{item(id).size, 1};
  });
  return sums;
}

std::size_t Tree::overhead() const {
  return blocks_.size() * sizeof(Block) + names_.overhead() + free_.capacity() * sizeof(NodeId);
}

}  // namespace stationer::fs
