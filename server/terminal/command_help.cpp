// help: the commands in one list, or how one is used.
#include <fmt/format.h>

#include "server/terminal/command.h"

namespace stationer::server {

Task<void> command_help(Call call) {
  if (!call.words.empty()) {
    auto command = find_command(call.words[0]);
    if (!command) {
      call.terminal.say(command.error().message);
      co_return;
    }
    call.terminal.say(fmt::format("{} {}", (*command)->name, (*command)->usage));
    call.terminal.say(fmt::format("  {}", (*command)->help));
    co_return;
  }
  std::string text;
  for (const Command& command : commands()) {
    if (command.who == Who::signed_in && !call.session.signed_in()) continue;
    if (call.terminal.columns() >= 60) {
      text += fmt::format("{:<9}{:<15}{}\n", command.name, command.usage, command.help);
    } else {
      text += fmt::format("{} {}\n", command.name, command.usage);
    }
  }
  text += "Words can be shortened: l for list. A name with spaces goes in quotes.\n";
  co_await call.terminal.show(std::move(text));
}

}  // namespace stationer::server
