// How long what was removed or replaced is kept, and what has to go first when room is short. Pure
// rules, without a clock or a disk.
#pragma once

#include <cstdint>
#include <vector>

#include "fs/ids.h"

namespace stationer::fs {

struct Retention {
  std::uint32_t days = 90;          // since it was removed or replaced; 0: however long
  std::uint32_t versions = 20;      // of one file; 0: however many
  std::uint64_t account_bytes = 0;  // what one account's history may take; 0: however much
  static constexpr std::chrono::hours spared{24};  // a short disk takes nothing younger than this
};

// Something that waits in the bin, or a former content of a file.
struct Past {
  AccountId owner{};
  NodeId node{};        // the top of a removal, or the file whose content it was
  ContentId content{};  // 0 for a removal
  std::uint64_t size = 0;
  Time since{};
  bool kept = false;  // its file has the keep bit: it stays

  bool is_removal() const { return content == ContentId{0}; }
};

// What has to go, oldest first. `shortage` is how many bytes more the disk ought to have free.
// Of what one account has, the newest stays however large it is, unless it is too old.
std::vector<Past> outdated(std::vector<Past> all, const Retention& retention, Time now,
                           std::uint64_t shortage);

}  // namespace stationer::fs
