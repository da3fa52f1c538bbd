#include "server/terminal/shown.h"

#include <algorithm>

#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

// No shown name holds a / of its own.
std::string divided(const Session& session, std::string text) {
  std::replace(text.begin(), text.end(), '/', session.names().style().separator);
  return text;
}

}  // namespace

std::string shown_path(const Session& session, const fs::Path& path) {
  return divided(session, session.shown(path).text());
}

std::string shown_from_here(const Session& session, const fs::Path& path) {
  return divided(session, seen_from(session.shown(session.here()), session.shown(path)));
}

std::string shown_place(const Session& session, int columns) {
  return divided(session, place(session.shown(session.here()), columns));
}

std::string shown_name(const Session& session, const fs::Path& path) {
  return session.shown(path).last();
}

fs::Path shown_removed(const Session& session, const fs::Path& path) {
  if (path.is_top()) return path;
  return session.shown(path.parent()) / session.names().shown(path.last());
}

std::string shown_removed_from_here(const Session& session, const fs::Path& path) {
  return divided(session, seen_from(session.shown(session.here()), shown_removed(session, path)));
}

}  // namespace stationer::server
