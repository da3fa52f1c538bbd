// One folder of the tree beside the folder of that name on the host: what does not agree.
#pragma once

#include <vector>

#include "fs/host_files.h"
#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

class Engine;

struct Difference {
  enum class Sort {
    missing,  // a node of which the host has nothing
    blocked,  // a node in whose place something of another sort is
    changed,  // a file whose size or time is not the node's
    stray,    // a file or folder that is no node
    strange,  // a link, device or socket that is no node
  };
  Sort sort = Sort::stray;
  NodeId node{};  // of the first three
  HostPath path;
  HostEntry entry;  // what is there; not of what is missing
};

// Whether the host's time of a file is the node's. Some file systems, and archives, keep seconds.
bool is_time_of(Time host, Time node);

// One look, which waits for nothing: changes go on meanwhile, so what is told has to be looked at
// again before anything is done about it.
struct FolderLook {
  std::vector<Difference> differences;
  std::vector<NodeId> folders;  // in it, in their places
  bool under_way = false;       // something of ours was not in its place yet, and is not told
};
Result<FolderLook> look_at_folder(Engine& engine, NodeId folder);

// What saves under way explain is not told: whatever differs is looked at again once all that was
// acknowledged is in place. Nothing when the folder is gone meanwhile.
Result<std::vector<Difference>> compare_folder(Engine& engine, NodeId folder);

}  // namespace stationer::fs
