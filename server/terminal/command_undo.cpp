// undo: takes back what was done last.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/shown.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_undo(Call call) {
  const auto undone = co_await call.session.undo();
  if (call.refused(undone)) co_return;
  const std::string name = shown_from_here(call.session, undone->path);
  switch (undone->what) {
    case LastAct::What::made: call.terminal.say(fmt::format("{} is in the bin.", name)); break;
    case LastAct::What::replaced:
      call.terminal.say(fmt::format(
          "{} is what it was before. What you saved is under versions {}.", name, as_typed(name)));
      break;
    case LastAct::What::removed: call.terminal.say(fmt::format("{} is back.", name)); break;
    case LastAct::What::moved:
      call.terminal.say(
          fmt::format("{} is {} again.", name, shown_from_here(call.session, undone->before)));
      break;
  }
}

}  // namespace stationer::server
