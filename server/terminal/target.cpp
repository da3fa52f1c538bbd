#include "server/terminal/target.h"

namespace stationer::server {

fs::Result<fs::Path> target(const Session& session, const fs::Path& from, std::string_view typed) {
  const auto to = session.path(typed);
  if (!to || from.is_top()) return to;
  const auto there = session.look(*to);
  if (!there || !there->folder) return to;
  const auto source = session.look(from);
  // A folder that is only to be written differently does not go into itself.
  if (source && source->id == there->id) return to;
  return *to / (source ? source->name : from.last());
}

}  // namespace stationer::server
