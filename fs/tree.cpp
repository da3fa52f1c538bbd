#include "fs/tree.h"

#include <algorithm>
#include <cstring>
#include <stdexcept>

#include "fs/text.h"

namespace stationer::fs {
namespace {

enum Flag : std::uint8_t {
  used = 1,
  is_folder = 2,
  has_load_address = 4,
  has_entry_point = 8,
  kind_shift = 4,  // two bits from here
  linked = 64,
};

constexpr std::uint32_t grave = 1;

// Eight bytes of a name at a time; the last ones are filled up with zeros.
std::uint64_t eight(const char* from, std::size_t left) {
  std::uint64_t out = 0;
  if (left >= sizeof out) {
    std::memcpy(&out, from, sizeof out);
  } else {
    std::memcpy(&out, from, left);
  }
  return out;
}

constexpr std::uint64_t each_byte(std::uint64_t value) {
  return value * 0x0101010101010101u;
}
constexpr bool all_ascii(std::uint64_t bytes) {
  return (bytes & each_byte(0x80)) == 0;
}
// Eight ASCII characters in lower case: the top bit of each byte of the two sums tells whether the
// byte is at least A, and whether it is beyond Z.
constexpr std::uint64_t lower(std::uint64_t bytes) {
  const std::uint64_t from_a = bytes + each_byte(0x80 - 'A');
  const std::uint64_t beyond_z = bytes + each_byte(0x80 - 'Z' - 1);
  return bytes | ((from_a ^ beyond_z) & each_byte(0x80)) >> 2;
}

bool same_name(std::string_view a, std::string_view b) {
  if (a.size() == b.size()) {
    const std::size_t size = b.size();  // known before a's has come from memory
    std::size_t at = 0;
    for (; at < size; at += 8) {
      const std::uint64_t x = eight(a.data() + at, size - at);
      const std::uint64_t y = eight(b.data() + at, size - at);
      if (x == y) continue;
      if (!all_ascii(x | y)) break;
      if (lower(x) != lower(y)) return false;
    }
    if (at >= size) return true;
  }
  return fold(a) == fold(b);
}

}  // namespace

Tree::Tree(std::uint64_t seed) : seed_(seed), table_(64) {}

bool Tree::has(NodeId id) const {
  return number(id) / block_size < blocks_.size() && (item(id).flags & used) != 0;
}

std::string_view Tree::name(const Item& item) const {
  return std::string_view(names_).substr(item.text, item.name_size);
}

std::string_view Tree::alias(const Item& item) const {
  return std::string_view(names_).substr(item.text + item.name_size, item.alias_size);
}

Node Tree::get(NodeId id) const {
  if (!has(id)) throw std::logic_error("a node was asked for that is not there");
  const Item& from = item(id);
  Node node;
  node.id = id;
  node.parent = from.parent;
  node.name = name(from);
  node.alias = alias(from);
  node.folder = (from.flags & is_folder) != 0;
  node.kind = static_cast<Kind>(from.flags >> kind_shift & 3u);
  node.owner = from.owner;
  node.klass = from.klass;
  node.access = from.access;
  if ((from.flags & has_load_address) != 0) node.load_address = from.load_address;
  if ((from.flags & has_entry_point) != 0) node.entry_point = from.entry_point;
  node.size = from.size;
  node.content = from.content;
  node.created = from.created;
  node.modified = from.modified;
  return node;
}

NodeId Tree::parent(NodeId id) const {
  return item(id).parent;
}

std::optional<NodeId> Tree::child(NodeId folder, std::string_view wanted) const {
  const std::uint32_t wanted_hash = hash(folder, wanted);
  for (std::size_t at = place(wanted_hash); table_[at].ref != 0; at = after(at)) {
    const Slot slot = table_[at];
    if (slot.hash != wanted_hash || slot.ref == grave) continue;
    const NodeId id{slot.ref / 2};
    const Item& candidate = item(id);
    if (candidate.parent != folder) continue;
    if (same_name((slot.ref & 1u) != 0 ? alias(candidate) : name(candidate), wanted)) return id;
  }
  return std::nullopt;
}

bool Tree::has_children(NodeId folder) const {
  return item(folder).first_child != no_node;
}

void Tree::each_child(NodeId folder, const std::function<void(NodeId)>& use) const {
  for (NodeId id = item(folder).first_child; id != no_node; id = item(id).next) use(id);
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

void Tree::store(NodeId id, const Node& node) {
  while (number(id) / block_size >= blocks_.size()) add_block();
  Item& into = item(id);
  set_names(into, node);
  into.parent = node.parent;
  into.flags = static_cast<std::uint8_t>(
      used | (into.flags & linked) | (node.folder ? is_folder : 0) |
      (node.load_address ? has_load_address : 0) | (node.entry_point ? has_entry_point : 0) |
      static_cast<unsigned>(node.kind) << kind_shift);
  into.owner = node.owner;
  into.klass = node.klass;
  into.access = node.access;
  into.load_address = node.load_address.value_or(0);
  into.entry_point = node.entry_point.value_or(0);
  into.size = node.size;
  into.content = node.content;
  into.created = node.created;
  into.modified = node.modified;
}

void Tree::set_names(Item& into, const Node& node) {
  const bool is_new = (into.flags & used) == 0;
  if (!is_new) {
    if (name(into) == node.name && alias(into) == node.alias) return;
    dead_names_ += into.name_size + std::size_t{into.alias_size};
  }
  into.text = static_cast<std::uint32_t>(names_.size());
  into.name_size = static_cast<std::uint8_t>(node.name.size());
  into.alias_size = static_cast<std::uint8_t>(node.alias.size());
  names_ += node.name;
  names_ += node.alias;
}

void Tree::compact_names() {
  if (dead_names_ < 65536 || dead_names_ * 2 < names_.size()) return;
  std::string fresh;
  fresh.reserve(names_.size() - dead_names_);
  for (auto& block : blocks_) {
    for (Item& each : *block) {
      if ((each.flags & used) == 0) continue;
      const auto at = static_cast<std::uint32_t>(fresh.size());
      fresh.append(names_, each.text, each.name_size + std::size_t{each.alias_size});
      each.text = at;
    }
  }
  names_ = std::move(fresh);
  dead_names_ = 0;
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
  self.flags |= linked;
  table_add(id);
}

void Tree::unlink(NodeId id) {
  Item& self = item(id);
  table_remove(id);
  if (self.parent != no_node) {
    if (self.previous != no_node) {
      item(self.previous).next = self.next;
    } else {
      item(self.parent).first_child = self.next;
    }
    if (self.next != no_node) item(self.next).previous = self.previous;
  }
  self.next = self.previous = no_node;
  self.flags = static_cast<std::uint8_t>(self.flags & ~linked);
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
    store(node.id, node);
    link(node.id);
    ++count_;
    if (is_counted(node.id)) count(node.id, +1);
    return std::nullopt;
  }
  const Node before = get(node.id);
  const bool moved = before.parent != node.parent;
  const bool renamed = moved || before.name != node.name || before.alias != node.alias;
  const bool was_counted = is_counted(node.id);
  if (was_counted && moved) {
    count_below(node.id, -1);
  } else if (was_counted) {
    count(node.id, -1);
  }
  if (renamed) unlink(node.id);
  store(node.id, node);
  if (renamed) link(node.id);
  const bool counts = is_counted(node.id);
  if (counts && moved) {
    count_below(node.id, +1);
  } else if (counts) {
    count(node.id, +1);
  }
  compact_names();
  return before;
}

std::optional<Node> Tree::drop(NodeId id) {
  if (!has(id)) return std::nullopt;
  if (has_children(id)) throw std::logic_error("a folder was dropped with nodes in it");
  Node before = get(id);
  if (is_counted(id)) count(id, -1);
  unlink(id);
  Item& gone = item(id);
  dead_names_ += gone.name_size + std::size_t{gone.alias_size};
  gone = Item();
  free_.push_back(id);
  --count_;
  compact_names();
  return before;
}

void Tree::load(const Node& node) {
  store(node.id, node);
  ++count_;
}

std::vector<Node> Tree::link_all() {
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
      if (!has(up) || (item(up).flags & is_folder) == 0) return false;
      id = up;
    }
    return false;
  };
  std::vector<Node> lost;
  for (const NodeId id : all) {
    if (!belongs(id)) lost.push_back(get(id));
  }
  for (const Node& node : lost) {
    item(node.id) = Item();
    set_apart_.insert(node.id);
    --count_;
  }
  // Of the right size at once; and nothing is kept for names to come.
  std::size_t entries = 0;
  for (const NodeId id : all) entries += has(id) && item(id).alias_size > 0 ? 2u : 1u;
  table_resize(entries * 10 / 7);
  names_.shrink_to_fit();
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
  return blocks_.size() * sizeof(Block) + table_.capacity() * sizeof(Slot) +
         free_.capacity() * sizeof(NodeId);
}

// Over the folded name, eight bytes at a time, started from the folder and the seed: each step
// multiplies to 128 bits and folds the halves, so that every bit of the name reaches every bit.
std::uint32_t Tree::hash(NodeId folder, std::string_view name) const {
  const auto mix = [](std::uint64_t a, std::uint64_t b) {
    __extension__ using Wide = unsigned __int128;
    const Wide product = static_cast<Wide>(a) * b;
    return static_cast<std::uint64_t>(product) ^ static_cast<std::uint64_t>(product >> 64);
  };
  const std::uint64_t start =
      mix(seed_ ^ 0x9E3779B97F4A7C15u, std::uint64_t{number(folder)} + 0xD1B54A32D192ED03u);
  const auto over = [&](std::string_view bytes, bool& ascii) {
    std::uint64_t h = start ^ bytes.size();
    for (std::size_t at = 0; at < bytes.size(); at += 8) {
      const std::uint64_t part = eight(bytes.data() + at, bytes.size() - at);
      ascii = ascii && all_ascii(part);
      h = mix(h ^ lower(part), 0xA0761D6478BD642Fu ^ seed_);
    }
    return h;
  };
  bool ascii = true;
  std::uint64_t h = over(name, ascii);
  if (!ascii) h = over(fold(name), ascii);
  return static_cast<std::uint32_t>(h ^ h >> 32);
}

void Tree::table_add(NodeId id) {
  const Item& self = item(id);
  table_insert({hash(self.parent, name(self)), number(id) * 2});
  if (self.alias_size > 0) table_insert({hash(self.parent, alias(self)), number(id) * 2 + 1});
}

void Tree::table_remove(NodeId id) {
  const Item& self = item(id);
  const auto bury = [&](std::string_view text, std::uint32_t ref) {
    for (std::size_t at = place(hash(self.parent, text)); table_[at].ref != 0; at = after(at)) {
      if (table_[at].ref != ref) continue;
      table_[at].ref = grave;
      --table_live_;
      return;
    }
  };
  bury(name(self), number(id) * 2);
  if (self.alias_size > 0) bury(alias(self), number(id) * 2 + 1);
}

void Tree::table_insert(Slot slot) {
  // Four fifths full is as full as it gets; five eighths after growing.
  if ((table_used_ + 1) * 5 > table_.size() * 4) table_resize(table_live_ * 8 / 5);
  std::size_t at = place(slot.hash);
  while (table_[at].ref != 0) at = after(at);
  table_[at] = slot;
  ++table_used_;
  ++table_live_;
}

void Tree::table_resize(std::size_t size) {
  const std::vector<Slot> old = std::move(table_);
  table_.assign(std::max<std::size_t>(64, size), Slot());
  table_used_ = 0;
  table_live_ = 0;
  for (const Slot slot : old) {
    if (slot.ref > grave) table_insert(slot);
  }
}

}  // namespace stationer::fs
