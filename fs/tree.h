// The tree in memory: a compact mirror of the catalogue's nodes, so that reading never touches
// SQLite. At most 100 bytes a node beside the names. Not thread-safe: fs/volume.cpp holds its lock.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "fs/large_pages.h"
#include "fs/quota.h"
#include "fs/records.h"

namespace stationer::fs {

class Tree {
 public:
  // `seed` keeps hostile names from colliding in the name table.
  explicit Tree(std::uint64_t seed);

  bool has(NodeId id) const;
  Node get(NodeId id) const;  // must be there
  NodeId parent(NodeId id) const;

  // The child of `folder` whose name or alias is `name` in any case.
  std::optional<NodeId> child(NodeId folder, std::string_view name) const;
  bool has_children(NodeId folder) const;
  void each_child(NodeId folder, const std::function<void(NodeId)>& use) const;
  // `top` and everything below it, folders before what is in them.
  void each_below(NodeId top, const std::function<void(NodeId)>& use) const;
  // True when `id` is `top` or below it.
  bool is_within(NodeId id, NodeId top) const;

  // An id that no node has.
  NodeId free_id();

  // Adds or replaces a node; returns what was there. Its parent must be there, unless `loading`.
  std::optional<Node> put(const Node& node);
  // Takes a node without children away; returns it.
  std::optional<Node> drop(NodeId id);

  // For loading rows in any order: adds without linking; link_all() ends it and returns the nodes
  // that hang below no root (a damaged catalogue), which are left out. Their numbers are not given
  // to others.
  void load(const Node& node);
  std::vector<Node> link_all();
  void set_apart(NodeId id) { set_apart_.insert(id); }

  // What an account owns outside the bin (invariant 4: each byte counted once).
  Usage usage(AccountId account) const;
  // The same for all, counted afresh; keyed by the accounts' numbers.
  std::unordered_map<std::uint32_t, Usage> counted() const;
  void recount() { usage_ = counted(); }

  std::size_t size() const { return count_; }
  // Bytes held beside the names themselves.
  std::size_t overhead() const;

 private:
  // What is asked for once a node is found; one line of the processor's cache.
  struct Item {
    NodeId parent{};
    NodeId first_child{};
    NodeId next{};
    NodeId previous{};
    std::uint32_t label = 0;  // where in labels_
    Access access;
    std::uint8_t flags = 0;
    AccountId owner{};
    ClassId klass{};
    std::uint64_t size = 0;
    ContentId content{};
    Time created{};
    Time modified{};
  };
  static_assert(sizeof(Item) == 64);
  // What finds a node by its name, so that a lookup has no other place to go to. In labels_,
  // without gaps: this, the name, the alias, and its addresses if it has any.
  struct Label {
    NodeId id{};
    NodeId parent{};
    std::uint8_t name_size = 0;
    std::uint8_t alias_size = 0;  // 12 at most: the top bit tells whether there are addresses
    bool has_addresses = false;
  };
  static constexpr std::size_t label_size = 10;
  struct Addresses {
    std::uint32_t load = 0;
    std::uint32_t entry = 0;
  };
  static constexpr std::size_t block_size = 1024;
  using Block = std::array<Item, block_size>;

  struct Slot {
    std::uint32_t hash = 0;
    std::uint32_t ref = 0;  // where its label is * 2, + 1 when by its alias; 0 empty, 1 a grave
  };

  Item& item(NodeId id) { return (*blocks_[number(id) / block_size])[number(id) % block_size]; }
  const Item& item(NodeId id) const {
    return (*blocks_[number(id) / block_size])[number(id) % block_size];
  }
  Label label(std::size_t at) const;
  std::string_view name(std::size_t at, const Label& label) const;
  std::string_view alias(std::size_t at, const Label& label) const;
  std::size_t size_of(const Label& label) const;
  Addresses addresses(std::size_t at, const Label& label) const;
  bool fits(const Item& item, const Node& node) const;
  void add_block();
  void store(NodeId id, const Node& node);
  void write_label(const Node& node);
  void compact_labels();
  void link(NodeId id);
  void unlink(NodeId id);
  void count(NodeId id, int sign);
  void count_below(NodeId id, int sign);
  bool is_counted(NodeId id) const;

  std::uint32_t hash(NodeId folder, std::string_view name) const;
  void table_add(NodeId id);
  void table_remove(NodeId id);
  void table_insert(Slot slot);
  void table_resize(std::size_t size);
  // Where in the table a hash belongs, and the next place.
  std::size_t place(std::uint32_t hash) const {
    return static_cast<std::size_t>(std::uint64_t{hash} * table_.size() >> 32);
  }
  std::size_t after(std::size_t at) const { return at + 1 == table_.size() ? 0 : at + 1; }

  std::uint64_t seed_;
  std::vector<std::unique_ptr<Block>> blocks_;
  std::vector<NodeId> free_;
  std::set<NodeId> set_apart_;  // numbers of nodes that were left out
  // Both are read at random places, hence in large pages.
  std::vector<char, LargePages<char>> labels_;
  std::size_t dead_labels_ = 0;  // bytes
  std::vector<Slot, LargePages<Slot>> table_;
  std::size_t table_used_ = 0;  // slots that are not empty, graves among them
  std::size_t table_live_ = 0;
  std::size_t count_ = 0;
  std::unordered_map<std::uint32_t, Usage> usage_;
};

}  // namespace stationer::fs
