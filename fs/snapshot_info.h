// The first entry of a snapshot, snapshot.toml.
#pragma once

#include <string>
#include <string_view>

#include "fs/result.h"
#include "fs/snapshot.h"

namespace stationer::fs {

inline constexpr std::string_view snapshot_info_name = "snapshot.toml";

std::string write_snapshot_info(const SnapshotInfo& info);

// Code::newer_format for a snapshot of a newer program, Code::damaged for what makes no sense.
Result<SnapshotInfo> read_snapshot_info(std::string_view text);

}  // namespace stationer::fs
