// list: what is in a folder.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/shown.h"
#include "server/terminal/table.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_list(Call call) {
  const auto folder = call.session.path(call.words.empty() ? "." : call.words[0]);
  if (call.refused(folder)) co_return;
  const auto views = call.session.list(*folder);
  if (call.refused(views)) co_return;
  if (views->empty()) {
    call.terminal.say(call.words.empty() ? "There is nothing here."
                                         : fmt::format("There is nothing in {}.",
                                                       shown_path(call.session, *folder)));
    co_return;
  }
  Table table({{"name", 0}, {"size", 1, true}, {"access", 2}, {"owner", 3}, {"changed", 4}});
  for (const auto& view : *views) {
    table.add({call.session.shown(view) + (view.folder ? "/" : ""),
               view.folder ? "" : short_size(view.size), view.access.text(), view.owner,
               short_date(view.modified)});
  }
  co_await call.terminal.show(table.text(call.terminal.columns()));
}

}  // namespace stationer::server
