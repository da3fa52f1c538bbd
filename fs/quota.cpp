#include "fs/quota.h"

#include <algorithm>

#include <fmt/format.h>

namespace stationer::fs {
namespace {

// The limit in force: the soft one once its grace is over, else the hard one. 0: none.
std::uint64_t in_force(std::uint64_t soft, std::uint64_t hard, bool grace_over) {
  return grace_over && soft != 0 ? soft : hard;
}

bool is_grace_over(std::optional<Time> over_since, Time now, std::chrono::hours grace) {
  return over_since && now > *over_since + grace;
}

bool passes(std::uint64_t limit, std::uint64_t value) {
  return limit != 0 && value > limit;
}

// The smaller of two limits of which 0 means none.
std::uint64_t nearest(std::uint64_t a, std::uint64_t b) {
  if (a == 0 || b == 0) return std::max(a, b);
  return std::min(a, b);
}

}  // namespace

bool over_soft(const Quota& quota, const Usage& usage) {
  return passes(quota.soft_bytes, usage.bytes) || passes(quota.soft_files, usage.files);
}

Status may_grow(const Quota& quota, const Usage& before, const Usage& after,
                std::optional<Time> over_since, Time now, std::chrono::hours grace) {
  const bool over = is_grace_over(over_since, now, grace);
  const auto bytes = in_force(quota.soft_bytes, quota.hard_bytes, over);
  if (after.bytes > before.bytes && passes(bytes, after.bytes)) {
    return Error{Code::over_quota,
                 fmt::format("There is no room: the space allowed is {} bytes and {} are in use. "
                             "Remove what is not needed, or ask for more.",
                             bytes, before.bytes)};
  }
  const auto files = in_force(quota.soft_files, quota.hard_files, over);
  if (after.files > before.files && passes(files, after.files)) {
    return Error{Code::over_quota,
                 fmt::format("There is no room: {} files and folders are allowed and {} are there. "
                             "Remove what is not needed, or ask for more.",
                             files, before.files)};
  }
  return {};
}

std::optional<std::uint64_t> bytes_left(const Quota& quota, const Usage& usage,
                                        std::optional<Time> over_since, Time now,
                                        std::chrono::hours grace) {
  const auto limit =
      in_force(quota.soft_bytes, quota.hard_bytes, is_grace_over(over_since, now, grace));
  if (limit == 0) return std::nullopt;
  return limit > usage.bytes ? limit - usage.bytes : 0;
}

bool is_nearly_full(const Quota& quota, const Usage& usage) {
  const auto reached = [](std::uint64_t limit, std::uint64_t value) {
    return limit != 0 && value >= limit - limit / 5;
  };
  return reached(nearest(quota.soft_bytes, quota.hard_bytes), usage.bytes) ||
         reached(nearest(quota.soft_files, quota.hard_files), usage.files);
}

}  // namespace stationer::fs
