// find: printouts by the words on their pages, with the line where they stand.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/printout_words.h"
#include "server/terminal/table.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

constexpr std::size_t most_found = 40;

}  // namespace

Task<void> command_find(Call call) {
  const auto wish = printout_wish(call.rest);
  if (call.refused(wish)) co_return;
  auto found = co_await call.session.find_printouts(wish->filter, wish->words, most_found);
  if (call.refused(found)) co_return;
  if (found->unread != 0) {
    call.terminal.say(fmt::format(
        "{} not read yet: ask again in a while.",
        found->unread == 1 ? "1 printout is" : fmt::format("{} printouts are", found->unread)));
  }
  if (found->items.empty()) {
    call.terminal.say("No printout of yours has that.");
    co_return;
  }
  const std::string own = call.session.name();
  Table table({{"job", 0, true}, {"page", 1, true}, {"printed", 3}, {"owner", 2}, {"title"}});
  for (const auto& [printout, page, line] : found->items) {
    table.add({fmt::format("{}", printout.job), page == 0 ? "" : fmt::format("{}", page),
               short_day(printout.printed), printout.owner == own ? "" : printout.owner,
               printout.title});
    if (!line.empty()) table.note(line);
  }
  const bool seen = co_await call.terminal.show(table.text(call.terminal.columns()));
  if (seen && found->more) {
    call.terminal.say("There are more. Say more words, or since when.");
  }
}

}  // namespace stationer::server
