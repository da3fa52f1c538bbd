// tray: the member's printouts, newest first; from then on they count as seen.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/table.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_tray(Call call) {
  const auto tray = call.session.tray();
  if (tray.empty()) {
    call.terminal.say("Your tray is empty.");
    co_return;
  }
  Table table({{"job", 0, true}, {"pages", 1, true}, {"printed", 2}, {"title"}});
  std::vector<std::uint32_t> fresh;
  for (const auto& printout : tray) {
    if (!printout.seen) fresh.push_back(printout.job);
    table.add({fmt::format("{}", printout.job), fmt::format("{}", printout.pages),
               short_date(printout.printed), printout.title + (printout.seen ? "" : " (new)")});
  }
  const bool seen = co_await call.terminal.show(table.text(call.terminal.columns()));
  if (!seen || fresh.empty()) co_return;
  call.refused(co_await call.session.mark_seen(std::move(fresh)));
}

}  // namespace stationer::server
