// The limits of an account or a class among the parameters of a method.
#pragma once

#include <cstdint>
#include <limits>
#include <optional>

#include "fs/quota.h"
#include "server/control/params.h"

namespace stationer::server {

// Those that are given: soft_bytes, hard_bytes, soft_files, hard_files.
struct NewLimits {
  static constexpr std::uint64_t most = std::numeric_limits<std::int64_t>::max();

  explicit NewLimits(Params& params)
      : soft_bytes(params.optional_whole("soft_bytes", most)),
        hard_bytes(params.optional_whole("hard_bytes", most)),
        soft_files(params.optional_whole("soft_files", most)),
        hard_files(params.optional_whole("hard_files", most)) {}

  bool any() const { return soft_bytes || hard_bytes || soft_files || hard_files; }

  // `now` with those that are given put in. Code::bad_input for a hard one below its soft one.
  fs::Result<fs::Quota> on(const fs::Quota& now) const {
    const fs::Quota quota{soft_bytes.value_or(now.soft_bytes), hard_bytes.value_or(now.hard_bytes),
                          soft_files.value_or(now.soft_files), hard_files.value_or(now.hard_files)};
    if ((quota.hard_bytes != 0 && quota.hard_bytes < quota.soft_bytes) ||
        (quota.hard_files != 0 && quota.hard_files < quota.soft_files)) {
      return fs::Error{fs::Code::bad_input,
                       "The hard limit would be below the soft one. An account is warned at the "
                       "soft limit and stopped at the hard one; 0 is no limit."};
    }
    return quota;
  }

  std::optional<std::uint64_t> soft_bytes;
  std::optional<std::uint64_t> hard_bytes;
  std::optional<std::uint64_t> soft_files;
  std::optional<std::uint64_t> hard_files;
};

}  // namespace stationer::server
