// When snapshots are taken by themselves, and which of them are kept: pure rules, and the table of
// volume.toml they come from, [snapshots] (fs/settings_words.h).
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

struct SnapshotPlan {
  std::string folder;  // an absolute host path; empty: the volume's own
  std::optional<std::chrono::minutes> daily_at = std::chrono::minutes(180);  // after midnight
  unsigned days = 7;
  unsigned weeks = 4;
  unsigned months = 12;
};

Result<SnapshotPlan> read_snapshot_plan(std::string_view settings_text);

// What a new volume's settings say about snapshots.
std::string new_snapshot_settings();

// Whether one should be taken now: the time of day has come since `last`, the last one taken, or
// the making of the volume. A box that was off at that time catches up. `zone` is what the box's
// clock shows more than UTC.
bool snapshot_is_due(const SnapshotPlan& plan, Time last, Time now, std::chrono::seconds zone);

// Those of `taken` that the plan does not keep. The newest is always kept.
std::vector<Time> superfluous_snapshots(const SnapshotPlan& plan, std::vector<Time> taken,
                                        std::chrono::seconds zone);

// The name of a snapshot: "tidewrack-mill-2026-11-25-193005.tar.zst", in UTC.
std::string snapshot_name(std::string_view volume, Time taken);
// When a file of that name was taken; nothing for any other name, which is not ours to remove.
std::optional<Time> snapshot_time(std::string_view volume, std::string_view file_name);

}  // namespace stationer::fs
