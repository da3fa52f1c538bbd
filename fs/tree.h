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

#include "fs/name_table.h"
#include "fs/quota.h"
#include "fs/records.h"

namespace stationer::fs {

class Tree {
 public:
  // `seed` keeps hostile names from colliding in the name table.
  explicit Tree(std::uint64_t seed);

  bool has(NodeId id) const;
  // Must be there, as for all that follow.
  Node get(NodeId id) const;
  // Parts of it, without the copies of its names.
  NodeId parent(NodeId id) const { return item(id).parent; }
  std::string_view name(NodeId id) const { return label(id).name; }  // until the tree is changed
  AccountId owner(NodeId id) const { return item(id).owner; }
  ClassId klass(NodeId id) const { return item(id).klass; }
  Access access(NodeId id) const { return item(id).access; }
  bool is_folder(NodeId id) const;

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
    std::uint32_t key = 0;  // of its label in names_
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
  static constexpr std::size_t block_size = 1024;
  using Block = std::array<Item, block_size>;

  Item& item(NodeId id) { return (*blocks_[number(id) / block_size])[number(id) % block_size]; }
  const Item& item(NodeId id) const {
    return (*blocks_[number(id) / block_size])[number(id) % block_size];
  }
  Label label(NodeId id) const { return names_.get(item(id).key, id); }
  void add_block();
  void store(const Node& node);
  void link(NodeId id);
  void unlink(NodeId id);
  void count(NodeId id, int sign);
  void count_below(NodeId id, int sign);
  bool is_counted(NodeId id) const;

  std::vector<std::unique_ptr<Block>> blocks_;
  std::vector<NodeId> free_;
  std::set<NodeId> set_apart_;  // numbers of nodes that were left out
  NameTable names_;
  std::size_t count_ = 0;
  std::unordered_map<std::uint32_t, Usage> usage_;
};

}  // namespace stationer::fs
