// What files hold, in memory once for all who read it: when a thousand machines load one program,
// it is read once. Bounded: what was not asked for longest goes first, and is read again when it
// is wanted. Reading the disk happens where it may block. Lives on the loop's thread.
#pragma once

#include <cstdint>
#include <functional>
#include <list>
#include <map>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include "fs/content.h"
#include "server/loop.h"

namespace stationer::server {

class SharedContents {
 public:
  static constexpr std::size_t piece = std::size_t{32} * 1024;  // read at a time
  static constexpr std::size_t usual_bound = std::size_t{64} * 1024 * 1024;

  // A content that somebody reads. The file on the host is open as long as anybody has this.
  struct Open {
    fs::Content content;
    std::uint64_t size = 0;
  };
  using OpenPtr = std::shared_ptr<const Open>;

  enum class Copied : std::uint8_t { all, later, failed };

  explicit SharedContents(Loop& loop, std::size_t bound = usual_bound);
  SharedContents(const SharedContents&) = delete;
  SharedContents& operator=(const SharedContents&) = delete;
  ~SharedContents();

  // What somebody else reads already, or null.
  OpenPtr find(fs::ContentId id) const;
  OpenPtr add(fs::Content content, std::uint64_t size);

  // Copies what is at `offset` and must be there in full. `later`: it is being read, and `ready`
  // will be called once, when it is worth asking again. `failed`: the disk could not be read.
  Copied copy(const OpenPtr& open, std::uint64_t offset, std::span<char> into,
              const std::function<void()>& ready);

  std::size_t bytes() const { return bytes_; }
  std::uint64_t reads() const { return reads_; }  // of the disk, so far

 private:
  using Key = std::pair<fs::ContentId, std::uint64_t>;  // and which piece
  struct Piece {
    std::optional<std::string> bytes;  // nothing while they are read; short if they can't be
    std::vector<std::function<void()>> waiting;
    std::list<Key>::iterator use;  // its place in by_use_, once it is here
  };

  void begin_reading(const OpenPtr& open, const Key& key);
  void arrived(const Key& key, std::string bytes, bool whole);
  using Pieces = std::map<Key, Piece>;
  void forget(Pieces::iterator which);
  static constexpr std::size_t least_sweep = 64;

  Loop& loop_;
  std::size_t bound_;
  std::size_t bytes_ = 0;
  std::uint64_t reads_ = 0;
  Pieces pieces_;
  std::list<Key> by_use_;  // pieces that are here, the last used in front
  std::unordered_map<std::uint64_t, std::weak_ptr<const Open>> open_;
  std::size_t sweep_at_ = least_sweep;     // how many of open_ are looked through for those let go
  std::shared_ptr<SharedContents*> self_;  // null once we are gone, for what was posted before
};

}  // namespace stationer::server
