// How much an account may keep, and what to say about it. Pure rules after quotactl(2): a hard
// limit is never passed; a soft one may be for a time of grace, after which it is hard.
#pragma once

#include <cstdint>
#include <optional>

#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

struct Usage {
  std::uint64_t bytes = 0;  // the lengths of the files, not what the host's blocks round them up to
  std::uint64_t files = 0;  // files and folders alike

  Usage operator+(const Usage& other) const { return {bytes + other.bytes, files + other.files}; }
  bool operator==(const Usage&) const = default;
};

// 0 means no limit.
struct Quota {
  std::uint64_t soft_bytes = 0;
  std::uint64_t hard_bytes = 0;
  std::uint64_t soft_files = 0;
  std::uint64_t hard_files = 0;

  bool operator==(const Quota&) const = default;
};

inline constexpr std::chrono::hours default_grace{7 * 24};

bool over_soft(const Quota& quota, const Usage& usage);

// Whether usage may grow from `before` to `after`. Exactly the limit is allowed. `over_since`:
// since when the soft limit has been passed, if it has. Shrinking always may.
Status may_grow(const Quota& quota, const Usage& before, const Usage& after,
                std::optional<Time> over_since, Time now, std::chrono::hours grace = default_grace);

// The largest number of further bytes (not counting a new file) that may_grow() would allow now;
// nothing when there is no limit.
std::optional<std::uint64_t> bytes_left(const Quota& quota, const Usage& usage,
                                        std::optional<Time> over_since, Time now,
                                        std::chrono::hours grace = default_grace);

// True from 80 % of the nearest limit on: time to warn.
bool is_nearly_full(const Quota& quota, const Usage& usage);

}  // namespace stationer::fs
