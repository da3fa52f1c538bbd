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
constexpr int addresses_bit = 0x80;  // of a label's byte with the size of the alias

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

// A reference of 0 is none, hence no label lies at the very beginning.
Tree::Tree(std::uint64_t seed) : seed_(seed), labels_(label_size), table_(64) {}

bool Tree::has(NodeId id) const {
  return number(id) / block_size < blocks_.size() && (item(id).flags & used) != 0;
}

Tree::Label Tree::label(std::size_t at) const {
  const char* from = labels_.data() + at;
  Label out;
  std::memcpy(&out.id, from, 4);
  std::memcpy(&out.parent, from + 4, 4);
  out.name_size = static_cast<std::uint8_t>(from[8]);
  out.alias_size = static_cast<std::uint8_t>(from[9] & ~addresses_bit);
  out.has_addresses = (from[9] & addresses_bit) != 0;
  return out;
}

std::string_view Tree::name(std::size_t at, const Label& label) const {
  return {labels_.data() + at + label_size, label.name_size};
}

std::string_view Tree::alias(std::size_t at, const Label& label) const {
  return {labels_.data() + at + label_size + label.name_size, label.alias_size};
}

Tree::Addresses Tree::addresses(std::size_t at, const Label& label) const {
  Addresses out;
  if (label.has_addresses) {
    std::memcpy(&out, labels_.data() + at + size_of(label) - sizeof out, sizeof out);
  }
  return out;
}

std::size_t Tree::size_of(const Label& label) const {
  return label_size + label.name_size + label.alias_size +
         (label.has_addresses ? sizeof(Addresses) : 0);
}

Node Tree::get(NodeId id) const {
  if (!has(id)) throw std::logic_error("a node was asked for that is not there");
  const Item& from = item(id);
  Node node;
  node.id = id;
  node.parent = from.parent;
  const Label by = label(from.label);
  node.name = name(from.label, by);
  node.alias = alias(from.label, by);
  node.folder = (from.flags & is_folder) != 0;
  node.kind = static_cast<Kind>(from.flags >> kind_shift & 3u);
  node.owner = from.owner;
  node.klass = from.klass;
  node.access = from.access;
  const Addresses at = addresses(from.label, by);
  if ((from.flags & has_load_address) != 0) node.load_address = at.load;
  if ((from.flags & has_entry_point) != 0) node.entry_point = at.entry;
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
    const std::size_t where = slot.ref / 2;
    const Label candidate = label(where);
    if (candidate.parent != folder) continue;
    const auto text = (slot.ref & 1u) != 0 ? alias(where, candidate) : name(where, candidate);
    if (same_name(text, wanted)) return candidate.id;
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

// Whether the label that a node has is the one it is to have.
bool Tree::fits(const Item& item, const Node& node) const {
  const Label by = label(item.label);
  const Addresses at = addresses(item.label, by);
  return by.parent == node.parent && name(item.label, by) == node.name &&
         alias(item.label, by) == node.alias && at.load == node.load_address.value_or(0) &&
         at.entry == node.entry_point.value_or(0);
}

void Tree::store(NodeId id, const Node& node) {
  while (number(id) / block_size >= blocks_.size()) add_block();
  Item& into = item(id);
  const bool is_new = (into.flags & used) == 0;
  if (is_new || !fits(into, node)) {
    if (!is_new) dead_labels_ += size_of(label(into.label));
    into.label = static_cast<std::uint32_t>(labels_.size());
    write_label(node);
  }
  into.parent = node.parent;
  into.flags = static_cast<std::uint8_t>(
      used | (into.flags & linked) | (node.folder ? is_folder : 0) |
      (node.load_address ? has_load_address : 0) | (node.entry_point ? has_entry_point : 0) |
      static_cast<unsigned>(node.kind) << kind_shift);
  into.owner = node.owner;
  into.klass = node.klass;
  into.access = node.access;
  into.size = node.size;
  into.content = node.content;
  into.created = node.created;
  into.modified = node.modified;
}

void Tree::write_label(const Node& node) {
  const Addresses at{node.load_address.value_or(0), node.entry_point.value_or(0)};
  const bool has_addresses = at.load != 0 || at.entry != 0;
  const auto add = [&](const void* bytes, std::size_t size) {
    const char* from = static_cast<const char*>(bytes);
    labels_.insert(labels_.end(), from, from + size);
  };
  add(&node.id, 4);
  add(&node.parent, 4);
  labels_.push_back(static_cast<char>(node.name.size()));
  const auto alias_size = static_cast<int>(node.alias.size());
  labels_.push_back(static_cast<char>(has_addresses ? alias_size | addresses_bit : alias_size));
  add(node.name.data(), node.name.size());
  add(node.alias.data(), node.alias.size());
  if (has_addresses) add(&at, sizeof at);
}

void Tree::compact_labels() {
  if (dead_labels_ < 65536 || dead_labels_ * 2 < labels_.size()) return;
  std::vector<char, LargePages<char>> fresh(label_size);
  fresh.reserve(labels_.size() - dead_labels_);
  for (auto& block : blocks_) {
    for (Item& each : *block) {
      if ((each.flags & used) == 0) continue;
      const auto from = labels_.begin() + each.label;
      const auto size = static_cast<std::ptrdiff_t>(size_of(label(each.label)));
      each.label = static_cast<std::uint32_t>(fresh.size());
      fresh.insert(fresh.end(), from, from + size);
    }
  }
  labels_ = std::move(fresh);
  dead_labels_ = 0;
  // It refers to labels by where they lie.
  table_.assign(table_.size(), Slot());
  table_used_ = table_live_ = 0;
  for (std::size_t at = 0; at < blocks_.size() * block_size; ++at) {
    const NodeId id{static_cast<std::uint32_t>(at)};
    if (has(id) && (item(id).flags & linked) != 0) table_add(id);
  }
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
  const bool renamed = !fits(item(node.id), node);  // what finds it lies elsewhere then
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
  compact_labels();
  return before;
}

std::optional<Node> Tree::drop(NodeId id) {
  if (!has(id)) return std::nullopt;
  if (has_children(id)) throw std::logic_error("a folder was dropped with nodes in it");
  Node before = get(id);
  if (is_counted(id)) count(id, -1);
  unlink(id);
  Item& gone = item(id);
  dead_labels_ += size_of(label(gone.label));
  gone = Item();
  free_.push_back(id);
  --count_;
  compact_labels();
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
  for (const NodeId id : all) entries += has(id) && label(item(id).label).alias_size > 0 ? 2u : 1u;
  table_resize(entries * 13 / 10);
  labels_.shrink_to_fit();
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
         free_.capacity() * sizeof(NodeId) + count_ * label_size;
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
  const std::uint32_t at = item(id).label;
  const Label by = label(at);
  table_insert({hash(by.parent, name(at, by)), at * 2});
  if (by.alias_size > 0) table_insert({hash(by.parent, alias(at, by)), at * 2 + 1});
}

void Tree::table_remove(NodeId id) {
  const std::uint32_t where = item(id).label;
  const Label by = label(where);
  const auto bury = [&](std::string_view text, std::uint32_t ref) {
    for (std::size_t at = place(hash(by.parent, text)); table_[at].ref != 0; at = after(at)) {
      if (table_[at].ref != ref) continue;
      table_[at].ref = grave;
      --table_live_;
      return;
    }
  };
  bury(name(where, by), where * 2);
  if (by.alias_size > 0) bury(alias(where, by), where * 2 + 1);
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
  const auto old = std::move(table_);
  table_.assign(std::max<std::size_t>(64, size), Slot());
  table_used_ = 0;
  table_live_ = 0;
  for (const Slot slot : old) {
    if (slot.ref > grave) table_insert(slot);
  }
}

}  // namespace stationer::fs
