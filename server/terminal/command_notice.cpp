// notice: a short message to an account, a class or everybody, with the words as they were typed.
#include <fmt/format.h>

#include "server/terminal/command.h"

namespace stationer::server {

Task<void> command_notice(Call call) {
  const auto [typed, text] = first_word(call.rest);
  std::string to(typed);
  // Not every keyboard has an @.
  if (to.starts_with('+')) to.front() = '@';
  const auto sent = co_await call.session.send_notice(to, std::string(text));
  if (call.refused(sent)) co_return;
  call.terminal.say(fmt::format("Your notice to {} is sent.", typed));
}

}  // namespace stationer::server
