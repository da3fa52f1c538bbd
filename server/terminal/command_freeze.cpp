// freeze: a class may not save or print while somebody talks to it.
#include <fmt/format.h>

#include "server/freeze.h"
#include "server/terminal/command.h"
#include "server/terminal/minutes.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_freeze(Call call) {
  auto how_long = Freeze::longest;
  if (call.words.size() > 1) {
    const auto typed = minutes_of(call.words[1], Freeze::longest);
    if (call.refused(typed)) co_return;
    how_long = *typed;
  }
  const auto frozen = call.session.freeze(call.words[0], how_long);
  if (call.refused(frozen)) co_return;
  call.terminal.say(fmt::format("{} can't save and print for {}. thaw {} ends that.", call.words[0],
                                counted(static_cast<std::uint64_t>(how_long.count()), "minute"),
                                call.words[0]));
}

}  // namespace stationer::server
