// What is done with a snapshot that was taken (fs/snapshot.h): looking at it, making a volume of
// it, and trying whether that would work.
#pragma once

#include <functional>
#include <string>

#include "fs/archive.h"
#include "fs/check.h"
#include "fs/host_files.h"
#include "fs/result.h"
#include "fs/snapshot.h"

namespace stationer::fs {

// Reads only the first entry. Code::bad_input when the file is no snapshot, Code::newer_format when
// a newer program made it.
Result<SnapshotInfo> describe_snapshot(HostFile& file);

// Reads a snapshot from its first entry to its last: its seal first, then each entry as use() takes
// it from the reader. Code::damaged for anything that is not what was written.
using SnapshotUse = std::function<Status(const ArchiveEntry& entry, ArchiveReader& reader)>;
Result<SnapshotInfo> read_snapshot(HostFile& file, const SnapshotUse& use,
                                   const SnapshotProgress& progress);

// Makes a volume of a snapshot in an empty folder, once its seal was found whole. Everything is
// compared with its hash on the way; the folder is a volume only when all is in its place. After an
// error nothing of it is left.
Result<SnapshotInfo> restore_snapshot(HostFile& file, const std::string& directory,
                                      const SnapshotProgress& progress);

struct Rehearsal {
  SnapshotInfo info;
  CheckReport report;  // of the volume that it made
};
// Restores into `directory`, which must be missing or empty, opens the volume there, checks it, and
// removes it again.
Result<Rehearsal> rehearse_snapshot(HostFile& file, const std::string& directory,
                                    const SnapshotProgress& progress);

}  // namespace stationer::fs
