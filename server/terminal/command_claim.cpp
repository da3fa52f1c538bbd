// claim: takes a printout that nobody has claimed yet, by its code; for leaders and managers,
// alone: those there are, with their codes.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/table.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_claim(Call call) {
  if (!call.words.empty()) {
    const auto claimed = co_await call.session.claim(call.rest);
    if (call.refused(claimed)) co_return;
    call.terminal.say(fmt::format("Printout {} is in your tray.", claimed->job));
    co_return;
  }
  const auto unclaimed = call.session.unclaimed();
  if (!unclaimed) {
    call.terminal.say("Ask whoever keeps this room for the code of your printout.");
    co_return;
  }
  if (unclaimed->empty()) {
    call.terminal.say("There are no printouts that nobody has claimed.");
    co_return;
  }
  Table table({{"code", 0}, {"job", 1, true}, {"pages", 2, true}, {"printed", 3}, {"title"}});
  for (const auto& [printout, code] : *unclaimed) {
    table.add({code, fmt::format("{}", printout.job), fmt::format("{}", printout.pages),
               short_date(printout.printed), printout.title});
  }
  co_await call.terminal.show(table.text(call.terminal.columns()));
}

}  // namespace stationer::server
