// What the host tells of changes in folders, by inotify(7); its only user. It tells only where
// something may have changed: whoever listens looks for itself.
#pragma once

#include <chrono>
#include <memory>
#include <string>
#include <vector>

#include "fs/host_path.h"
#include "fs/result.h"

namespace stationer::fs {

class HostWatch {
 public:
  // For folders below `directory`.
  static Result<std::unique_ptr<HostWatch>> open(const std::string& directory);
  virtual ~HostWatch() = default;

  // Watches one folder, not those in it. Doing so again, when it has moved, tells its new path.
  // Code::no_space when the host gives no more watches.
  virtual Status add(const HostPath& folder) = 0;

  struct Seen {
    std::vector<HostPath>
        touched;  // folders in which something was written, moved, made or removed
    std::vector<HostPath> new_folders;  // that came into these, with all that is in them
    bool lost = false;                  // more happened than the host could tell
  };
  // Waits until something is to be told, wake() was called, or the time is over.
  virtual Seen wait(std::chrono::milliseconds longest) = 0;
  // From any thread: ends one wait, now or to come.
  virtual void wake() = 0;
};

}  // namespace stationer::fs
