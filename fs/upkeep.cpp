#include "fs/upkeep.h"

#include <fmt/format.h>

#include "fs/engine.h"
#include "fs/node_name.h"
#include "fs/text.h"

namespace stationer::fs {

std::string alias_for(const State& state, NodeId folder, std::string_view name, NodeId self) {
  if (is_short_name(name)) return "";
  return short_alias(name, [&](std::string_view candidate) {
    const auto other = state.tree.child(folder, candidate);
    return other && *other != self;
  });
}

std::string bin_name(NodeId id, std::string_view name) {
  const std::string start = fmt::format("{} ", number(id));
  return start + std::string(clip(name, longest_name - start.size()));
}

Status check_place(const Path& path) {
  if (path.names().size() > Path::deepest) {
    return Error{Code::bad_name, fmt::format("Folders can be {} deep, no deeper.", Path::deepest)};
  }
  if (path.text().size() > Path::longest) {
    return Error{Code::bad_name, "The path would be too long. Use shorter names or fewer folders."};
  }
  return {};
}

}  // namespace stationer::fs
