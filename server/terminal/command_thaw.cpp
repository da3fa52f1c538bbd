// thaw: a class may save and print again.
#include <fmt/format.h>

#include "server/terminal/command.h"

namespace stationer::server {

Task<void> command_thaw(Call call) {
  const auto thawed = call.session.thaw(call.words[0]);
  if (call.refused(thawed)) co_return;
  call.terminal.say(fmt::format("{} may save and print again.", call.words[0]));
}

}  // namespace stationer::server
