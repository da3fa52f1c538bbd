// folder: makes one.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/shown.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_folder(Call call) {
  const auto path = call.session.path(call.words[0]);
  if (call.refused(path)) co_return;
  const auto made = co_await call.session.make_folder(*path);
  if (call.refused(made)) co_return;
  const std::string name = shown_from_here(call.session, *path);
  call.terminal.say(fmt::format("The folder {} is made. go {} leads there.", name, as_typed(name)));
}

}  // namespace stationer::server
