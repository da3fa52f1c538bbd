// The snapshots of one volume: taking them where they belong, and which there are.
#pragma once

#include <algorithm>
#include <chrono>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "fs/host_files.h"
#include "fs/ids.h"
#include "fs/result.h"
#include "fs/snapshot.h"
#include "fs/snapshot_plan.h"

namespace stationer::fs {

class Engine;

struct SnapshotFile {
  std::string path;  // on the host
  Time taken{};
  std::uint64_t size = 0;
};

// All calls may come from any thread.
class Snapshots {
 public:
  // Wraps the host's files; tests put a failing disk in between. May be empty.
  using Wrap = std::function<std::unique_ptr<HostFiles>(std::unique_ptr<HostFiles>)>;

  Snapshots(Engine& engine, std::string directory, std::string volume_name, SnapshotPlan plan,
            Wrap wrap);

  const SnapshotPlan& plan() const { return plan_; }
  // Where those go that are given no place: as the settings say, or snapshots/ in the volume.
  const std::string& folder() const { return folder_; }

  // Takes one into the file that `path`, a path on the host, names; in a folder, or with no path,
  // it gets a name of its own. Gives where it is.
  struct Taken : SnapshotTaken {
    std::string path;
  };
  Result<Taken> take(const std::string& path, const SnapshotProgress& progress = {});

  // Those with names of their own in folder(), newest first.
  Result<std::vector<SnapshotFile>> list();
  // Removes those of them that the settings do not keep, and what was left of one that was cut
  // short. `zone` is what the box's clock shows more than UTC.
  Status thin(std::chrono::seconds zone);

  // Whether the settings want one now, when the last was taken at `last`.
  bool is_due(Time last, std::chrono::seconds zone) const;
  // Whether the settings want them and there should have been one a day ago.
  bool is_overdue(Time last) const;

 private:
  Result<std::unique_ptr<HostFiles>> open(const std::string& folder);

  Engine& engine_;
  std::string directory_;
  std::string volume_name_;
  SnapshotPlan plan_;
  Wrap wrap_;
  std::string folder_;
  Time created_{};  // the volume
};

// The folder and the name that a path on the host is made of; Code::bad_input for what names no
// file.
struct OutsidePath {
  std::string folder;  // never empty
  HostPath name;
};
Result<OutsidePath> split_outside_path(const std::string& path);

}  // namespace stationer::fs
