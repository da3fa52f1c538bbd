// rename: a new name for a file or folder, or another folder for it.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/shown.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_rename(Call call) {
  const auto from = call.session.path(call.words[0]);
  if (call.refused(from)) co_return;
  const auto to = call.session.place_for(*from, call.words[1]);
  if (call.refused(to)) co_return;
  const std::string before = shown_from_here(call.session, *from);
  const auto moved = co_await call.session.move(*from, *to);
  if (call.refused(moved)) co_return;
  call.terminal.say(fmt::format("{} is now {}.", before, shown_from_here(call.session, *to)));
}

}  // namespace stationer::server
