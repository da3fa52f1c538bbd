// What somebody did last to the tree, for as long as it can be taken back.
#pragma once

#include <cstdint>

#include "fs/files.h"
#include "fs/path.h"

namespace stationer::server {

struct LastAct {
  enum class What : std::uint8_t { made, replaced, removed, moved };

  What what{};
  fs::NodeId node{};
  fs::Path path;           // where it is now; of what was removed, where it was
  fs::Path before;         // moved: where it was
  fs::ContentId former{};  // replaced: the version that has what it was
  fs::Time modified{};     // made, replaced: when; whatever came after is somebody's later work
};

}  // namespace stationer::server
