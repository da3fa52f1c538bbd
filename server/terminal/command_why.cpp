// why: what was refused last, and whom to ask.
#include <fmt/format.h>

#include "server/explain.h"
#include "server/terminal/command.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_why(Call call) {
  const Refusal* last = call.session.last_refusal();
  if (last == nullptr) {
    call.terminal.say("Nothing was refused here of late.");
    co_return;
  }
  call.terminal.say(fmt::format("{}: {}", short_date(last->at), last->error.message));
  if (const auto why = explain_to_member(last->error); !why.empty()) call.terminal.say(why);
}

}  // namespace stationer::server
