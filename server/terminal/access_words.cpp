#include "server/terminal/access_words.h"

#include <fmt/format.h>

#include "server/terminal/shown.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

using fs::Access;

bool class_may_read(const fs::NodeView& node, const std::string& klass) {
  return node.access.has(node.klass == klass ? Access::class_read : Access::everyone_read);
}

// The folder on the way to `path` that shuts out those who may read the node itself; empty when
// there is none.
std::string shut_folder(const Session& session, const fs::Path& path, const fs::NodeView& view) {
  const bool everyone = view.access.has(Access::everyone_read);
  const bool its_class = !view.klass.empty() && view.access.has(Access::class_read);
  fs::Path above;
  for (const auto& name : path.names()) {
    const auto folder = session.look(above);
    if (!folder) return "";
    if (everyone && !folder->access.has(Access::everyone_read)) {
      return fmt::format(
          "But not everyone can get there: {} is closed to them. A copy in "
          "an open folder would help.\n",
          shown_path(session, above));
    }
    if (its_class && !class_may_read(*folder, view.klass)) {
      return fmt::format("But the class {} can't get there: {} is closed to it.\n", view.klass,
                         shown_path(session, above));
    }
    above = above / name;
  }
  return "";
}

}  // namespace

std::string access_in_words(const Session& session, const fs::Path& path,
                            const fs::NodeView& view) {
  const Access access = view.access;
  const auto may = [&](Access::Bit read, Access::Bit write) {
    return permission(access.has(read), access.has(write), view.folder);
  };
  const bool has_class = !view.klass.empty();
  std::string out = fmt::format("{} belongs to {}{}.\n",
                                path.is_top() ? shown_path(session, path) : session.shown(view),
                                view.owner.empty() ? "the room" : view.owner,
                                has_class ? fmt::format(" and the class {}", view.klass) : "");
  const std::string owner = may(Access::owner_read, Access::owner_write);
  if (!view.owner.empty()) {
    out += fmt::format("{} {}.\n", view.owner == session.name() ? "You" : "The owner", owner);
  } else if (has_class) {
    out += fmt::format("Leaders of {} {}.\n", view.klass, owner);
  }
  if (has_class) {
    out +=
        fmt::format("The class {} {}.\n", view.klass, may(Access::class_read, Access::class_write));
  } else if ((access.has(Access::class_read) && !access.has(Access::everyone_read)) ||
             (access.has(Access::class_write) && !access.has(Access::everyone_write))) {
    out += "No class has to do with it, so what a class may do means nothing here.\n";
  }
  if (access.has(Access::everyone_read) || access.has(Access::everyone_write)) {
    out += fmt::format("Everyone else {}.\n", may(Access::everyone_read, Access::everyone_write));
  } else {
    out += view.folder ? "Nobody else may look in.\n" : "Nobody else may read it.\n";
  }
  out += shut_folder(session, path, view);
  if (access.has(Access::keep)) {
    out += fmt::format("It is kept: nobody can change or remove it until access {} -k.\n",
                       as_typed(session.shown(view)));
  }
  out += fmt::format("In letters: {}\n", access.text());
  return out;
}

}  // namespace stationer::server
