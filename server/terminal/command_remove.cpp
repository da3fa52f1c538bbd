// remove: puts a file, or a folder with all that is in it, in its owner's bin.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_remove(Call call) {
  const auto path = call.session.path(call.words[0]);
  if (call.refused(path)) co_return;
  const auto view = call.session.look(*path);
  if (call.refused(view)) co_return;
  const std::string name = call.session.shown(*view);
  const auto removed = co_await call.session.remove(*path);
  if (call.refused(removed)) co_return;
  const bool own = view->owner.empty() || view->owner == call.session.name();
  call.terminal.say(fmt::format("{}{} is in {} bin; restore {} brings it back.", name,
                                view->folder ? " with all that is in it" : "",
                                own ? "the" : view->owner + "'s", as_typed(name)));
}

}  // namespace stationer::server
