// password: changes one's own, the old one first; a leader or manager may set somebody else's.
#include <fmt/format.h>

#include "fs/text.h"
#include "server/terminal/command.h"

namespace stationer::server {
namespace {

// Asked for twice, since it can't be seen; nothing when it won't do.
Task<std::optional<std::string>> new_password(Terminal& terminal) {
  auto once = co_await terminal.ask_password("New password: ");
  if (!once) co_return std::nullopt;
  const auto again = co_await terminal.ask_password("The same again: ");
  if (!again) co_return std::nullopt;
  if (*once != *again) {
    terminal.say("The two are not the same.");
    co_return std::nullopt;
  }
  co_return once;
}

}  // namespace

Task<void> command_password(Call call) {
  const std::string own = call.session.name();
  const std::string whose = call.words.empty() ? own : fs::ascii_lower(call.words[0]);
  std::optional<std::string> old;
  if (whose == own) {
    old = co_await call.terminal.ask_password("Old password: ");
    if (!old) co_return;
  } else if (call.refused(call.session.may_set_password(whose))) {
    co_return;
  }
  auto fresh = co_await new_password(call.terminal);
  if (!fresh) {
    call.terminal.say("The password stays as it was.");
    co_return;
  }
  fs::Status changed;
  if (old) {
    changed = co_await call.session.change_password(std::move(*old), std::move(*fresh));
  } else {
    changed = co_await call.session.set_password(whose, std::move(*fresh));
  }
  if (call.refused(changed)) co_return;
  call.terminal.say(old ? "Your password is changed."
                        : fmt::format("{} has a new password.", whose));
}

}  // namespace stationer::server
