// How much an account may keep, and what to say about it. Pure rules after quotactl(2): a hard
// limit is never passed; a soft one may be for a time of grace, after which it is hard.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

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

// Since when an account counts as over its soft limit, as it is to be noted now. Grace runs from
// the moment the limit was passed. A moment that can't be, after now or before the account was
// `made`, was told by a clock that was wrong: grace then runs anew from now, so that it is never
// less than promised, and never longer than once more. While the clock is behind `made`, and so
// wrong for certain, what was noted stays.
std::optional<Time> over_since_as_of(Time now, bool over, std::optional<Time> noted, Time made);

// Whether usage may grow from `before` to `after`. Exactly the limit is allowed. `over_since`:
// since when the soft limit has been passed, if it has. With no grace at all it is hard from the
// start. Shrinking always may. `whose` is the account's name when the refusal is for somebody else
// to read.
Status may_grow(const Quota& quota, const Usage& before, const Usage& after,
                std::optional<Time> over_since, Time now, std::chrono::hours grace = default_grace,
                std::string_view whose = "");

// The largest number of further bytes (not counting a new file) that may_grow() would allow now;
// nothing when there is no limit.
std::optional<std::uint64_t> bytes_left(const Quota& quota, const Usage& usage,
                                        std::optional<Time> over_since, Time now,
                                        std::chrono::hours grace = default_grace);

// True from 80 % of the nearest limit on: time to warn.
bool is_nearly_full(const Quota& quota, const Usage& usage);

// How near an account is to its limits; a step up is worth telling.
enum class Fullness : std::uint8_t { roomy, nearly_full, over };
Fullness fullness(const Quota& quota, const Usage& usage);

}  // namespace stationer::fs
