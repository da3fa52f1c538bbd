// versions: what a file had in it before it was replaced; restore NAME NUMBER brings one back.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/shown.h"
#include "server/terminal/table.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_versions(Call call) {
  const auto path = call.session.path(call.words[0]);
  if (call.refused(path)) co_return;
  const auto versions = call.session.versions(*path);
  if (call.refused(versions)) co_return;
  if (versions->empty()) {
    call.terminal.say(fmt::format("{} has never been replaced, or it was too long ago.",
                                  shown_from_here(call.session, *path)));
    co_return;
  }
  const std::string own = call.session.name();
  Table table({{"no", 0, true}, {"saved", 0}, {"size", 1, true}, {"replaced", 2}, {"by", 3}});
  int number = 0;
  for (const auto& each : *versions) {
    table.add({fmt::format("{}", ++number), short_date(each.saved), short_size(each.size),
               short_date(each.replaced), each.replaced_by == own ? "" : each.replaced_by});
  }
  co_await call.terminal.show(table.text(call.terminal.columns()));
}

}  // namespace stationer::server
