// roll: who of a class has handed in, and who hasn't.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/table.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_roll(Call call) {
  const auto where = call.session.hand_in_folder(call.words.empty() ? "" : call.words[0]);
  if (call.refused(where)) co_return;
  const auto folder = fs::Path::parse(where->path);
  if (call.refused(folder)) co_return;
  const auto roll = call.session.roll(*folder);
  if (call.refused(roll)) co_return;
  Table table({{"name", 0}, {"files", 1, true}, {"last", 2}, {"", 0}});
  std::size_t members = 0;
  std::size_t done = 0;
  for (const auto& entry : roll->entries) {
    if (entry.member) {
      ++members;
      if (!entry.receipts.empty()) ++done;
    }
    if (entry.receipts.empty()) {
      table.add({entry.account, "", "", "not yet"});
      continue;
    }
    const auto& last = entry.receipts.front();
    table.add({entry.account, fmt::format("{}", entry.receipts.size()), short_date(last.at),
               last.late ? "late" : ""});
  }
  call.terminal.say(fmt::format("{} of {} handed in to {}.", done, counted(members, "member"),
                                roll->folder.path));
  if (!table.empty()) co_await call.terminal.show(table.text(call.terminal.columns()));
}

}  // namespace stationer::server
