// space: what is in use, what is allowed, what is left.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/space_words.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_space(Call call) {
  const auto space = call.session.space();
  if (call.refused(space)) co_return;
  if (call.session.signed_in()) {
    call.terminal.say(space_in_words(*space));
  } else {
    call.terminal.say(fmt::format("The disk has room for {} more. Guests can't save anything.",
                                  short_size(space->free_bytes)));
  }
}

}  // namespace stationer::server
