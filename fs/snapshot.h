// Snapshots: the whole content of a volume as it was after one commit, in one file. It is made
// while saves go on, and makes a volume again wherever it is unpacked.
//
// The form (format 1) is an archive of fs/archive.h, so that ordinary tools open it, with a seal of
// fs/seal.h behind it. In its order:
//   snapshot.toml           what it is: format, volume, when, commit, how much
//   volume.toml             the settings as they stood in the file
//   catalog.db              every row as of the commit, and nothing of what was deleted before
//   files/ bin/ versions/   the contents that those rows tell of, under their names
//   printouts/              the PDFs that those rows tell of
//   archives/               what is kept of those who left
//   spool/                  print jobs that were not printed yet, as of just before the commit
//   contents.sha256         the hash of each of these files
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include "fs/host_files.h"
#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

class Engine;

// What this program writes, and the newest it reads.
inline constexpr int snapshot_format = 2;

// What the first entry tells.
struct SnapshotInfo {
  int format = snapshot_format;
  std::string volume;  // its name
  Time taken{};
  std::uint64_t commit = 0;  // the last one in it
  std::uint64_t files = 0;   // in all, once unpacked
  std::uint64_t bytes = 0;
};

struct SnapshotTaken {
  SnapshotInfo info;
  std::uint64_t size = 0;  // bytes of the file
  // Contents that are not in it, or not as they were saved, because the host had lost or changed
  // them: sentences, the first of `lost`.
  std::vector<std::string> losses;
  std::uint64_t lost = 0;
};

// Told bytes done and in all; false ends the work with Code::busy.
using SnapshotProgress = std::function<bool(std::uint64_t done, std::uint64_t all)>;

// Takes a snapshot into `file` in `folder`, which may be any folder of the host's. `directory`
// is the volume's. It has that name
// when it is complete and durable, and not before; after an error nothing of it is left. One at a
// time: Code::busy while another is being taken of the same volume.
Result<SnapshotTaken> take_snapshot(Engine& engine, const std::string& directory,
                                    std::string_view volume_name, HostFiles& folder,
                                    const HostPath& file, const SnapshotProgress& progress);

}  // namespace stationer::fs
