// bind: printouts put together into one PDF, which is saved as a file.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/printout_words.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_bind(Call call) {
  const FirstWord typed = first_part(call.rest);
  std::string name(typed.word);
  std::erase(name, '"');
  const auto path = call.session.path(name);
  if (call.refused(path)) co_return;
  const auto wish = printout_wish(typed.rest);
  if (call.refused(wish)) co_return;
  if (!wish->words.empty()) {
    call.terminal.say(
        "Behind the name may stand of NAME or of +CLASS, queue NAME, since DAY and until DAY.");
    co_return;
  }
  const auto bound = co_await call.session.bind_printouts(*path, wish->filter);
  if (call.refused(bound)) co_return;
  call.terminal.say(fmt::format("{} has {} on {}.", name, counted(bound->printouts, "printout"),
                                counted(bound->pages, "page")));
  for (const auto& sentence : bound->missing) call.terminal.say(sentence);
}

}  // namespace stationer::server
