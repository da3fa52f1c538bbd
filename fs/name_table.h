// Finds the nodes of the tree by folder and name, and holds the names. Not thread-safe.
//
// What a lookup costs is waiting for memory, hence there is one place to wait for: a hash of folder
// and folded name gives a bucket, five lines of the processor's cache, with all there is to know of
// the names in it. What finds its bucket full goes to the next with room, and each bucket counts
// what has passed it by, so that a lookup knows where to end.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string_view>
#include <vector>

#include "fs/ids.h"
#include "fs/large_pages.h"

namespace stationer::fs {

// What a node is found by, and the addresses, which few have.
struct Label {
  NodeId id{};
  NodeId parent{};
  std::string_view name;   // at most 255 bytes
  std::string_view alias;  // at most 12
  std::uint32_t load_address = 0;
  std::uint32_t entry_point = 0;

  bool operator==(const Label&) const = default;
};

class NameTable {
 public:
  // `seed` keeps hostile names from filling one bucket.
  explicit NameTable(std::uint64_t seed);

  // The node in `folder` whose name or alias is `name` in any case.
  std::optional<NodeId> find(NodeId folder, std::string_view name) const;

  // Returns the key by which the label is had again, a hash of folder and name.
  std::uint32_t add(const Label& label);
  void remove(std::uint32_t key, NodeId id);
  Label get(std::uint32_t key, NodeId id) const;  // refers to the table until it is changed
  void fetch(std::uint32_t key) const;            // get() will ask for it soon

  // For loading: as add(), but nothing is found before build(), which takes neither too little room
  // nor too much.
  std::uint32_t load(const Label& label);
  void build();

  // Bytes held beside the names themselves.
  std::size_t overhead() const { return buckets_.size() * sizeof(Bucket) - name_bytes_; }

 private:
  struct alignas(64) Bucket {
    std::uint16_t used = 0;    // bytes
    std::uint16_t passed = 0;  // entries that found no room here
    std::array<char, 316> entries{};
  };

  // The entries that can be those of `hash`, until one fits; an empty one when none does.
  template <class Fits>
  std::string_view seek(std::uint32_t hash, Fits fits) const;
  bool is_named(std::string_view entry, NodeId folder, std::string_view name) const;
  std::string_view entry_of(std::uint32_t key, NodeId id) const;
  void place(std::string_view entry);
  bool insert_label(std::string_view entry);
  bool insert(std::uint32_t hash, std::string_view entry);
  void erase(std::uint32_t hash, std::string_view entry);
  void make_room(std::size_t bytes);

  std::uint32_t hash(NodeId folder, std::string_view name) const;
  std::size_t home(std::uint32_t hash) const {
    return static_cast<std::size_t>(std::uint64_t{hash} * buckets_.size() >> 32);
  }
  std::size_t after(std::size_t at) const { return at + 1 == buckets_.size() ? 0 : at + 1; }

  std::uint64_t seed_;
  std::vector<Bucket, LargePages<Bucket>> buckets_;
  std::size_t used_ = 0;        // bytes in all of them
  std::size_t name_bytes_ = 0;  // of those, names and aliases
  std::vector<char> loading_;   // entries, one after another
};

}  // namespace stationer::fs
