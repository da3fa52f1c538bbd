#include "fs/quota.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/cause.h"
#include "fs/size_words.h"

namespace stationer::fs {
namespace {

// The limit in force: the soft one once its grace is over, else the hard one. 0: none.
std::uint64_t in_force(std::uint64_t soft, std::uint64_t hard, bool grace_over) {
  return grace_over && soft != 0 ? soft : hard;
}

bool is_grace_over(std::optional<Time> over_since, Time now, std::chrono::hours grace) {
  if (grace.count() == 0) return true;
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

// "There is no room: " and so on; `allowed` and `used` are the figures in words.
Error full(std::string_view whose, std::string_view allowed, std::string_view used) {
  if (whose.empty()) {
    return {Code::over_quota, fmt::format("There is no room: {} and {}. Remove what is not "
                                          "needed, or ask for more.",
                                          allowed, used)};
  }
  return {Code::over_quota,
          fmt::format("There is no room among the files of {}: {} and {}. Something of "
                      "theirs has to go, or they need more.",
                      whose, allowed, used)};
}

}  // namespace

std::optional<Time> over_since_as_of(Time now, bool over, std::optional<Time> noted, Time made) {
  if (!over) return std::nullopt;
  if (!noted) return now;
  if (now < made) return noted;
  return *noted > now || *noted < made ? now : *noted;
}

bool over_soft(const Quota& quota, const Usage& usage) {
  return passes(quota.soft_bytes, usage.bytes) || passes(quota.soft_files, usage.files);
}

Status may_grow(const Quota& quota, const Usage& before, const Usage& after,
                std::optional<Time> over_since, Time now, std::chrono::hours grace,
                std::string_view whose) {
  const bool over = is_grace_over(over_since, now, grace);
  const auto bytes = in_force(quota.soft_bytes, quota.hard_bytes, over);
  if (after.bytes > before.bytes && passes(bytes, after.bytes)) {
    return because(NoRoom{std::string(whose), "", false, over && quota.soft_bytes != 0, bytes,
                          before.bytes, after.bytes},
                   full(whose, fmt::format("the space allowed is {}", size_in_words(bytes)),
                        fmt::format("{} are in use", size_in_words(before.bytes))));
  }
  const auto files = in_force(quota.soft_files, quota.hard_files, over);
  if (after.files > before.files && passes(files, after.files)) {
    return because(NoRoom{std::string(whose), "", true, over && quota.soft_files != 0, files,
                          before.files, after.files},
                   full(whose, fmt::format("{} files and folders are allowed", files),
                        fmt::format("{} are there", before.files)));
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

Fullness fullness(const Quota& quota, const Usage& usage) {
  if (over_soft(quota, usage)) return Fullness::over;
  return is_nearly_full(quota, usage) ? Fullness::nearly_full : Fullness::roomy;
}

}  // namespace stationer::fs
