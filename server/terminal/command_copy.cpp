// copy: a file under another name, or into a folder under its own.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/shown.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_copy(Call call) {
  const auto from = call.session.path(call.words[0]);
  if (call.refused(from)) co_return;
  const auto to = call.session.place_for(*from, call.words[1]);
  if (call.refused(to)) co_return;
  const auto copied = co_await call.session.copy(*from, *to);
  if (call.refused(copied)) co_return;
  call.terminal.say(fmt::format("{} is copied to {}.", shown_from_here(call.session, *from),
                                shown_from_here(call.session, *to)));
}

}  // namespace stationer::server
