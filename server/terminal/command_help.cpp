// help: the commands in one list, or how one is used.
#include <fmt/format.h>

#include "fs/text.h"
#include "server/terminal/command.h"
#include "server/terminal/table.h"

namespace stationer::server {
namespace {

std::string how_to_use(const Command& command) {
  std::string help =
      fs::ascii_upper(command.help.substr(0, 1)) + std::string(command.help.substr(1));
  std::string text = fmt::format("{}{}{}\n{}.\n", command.name, command.usage.empty() ? "" : " ",
                                 command.usage, help);
  if (!command.more.empty()) text += fmt::format("{}\n", command.more);
  return text;
}

}  // namespace

Task<void> command_help(Call call) {
  if (!call.words.empty()) {
    const auto command = find_command(call.words[0]);
    if (call.refused(command)) co_return;
    co_await call.terminal.show(how_to_use(**command));
    co_return;
  }
  Table table({{"", 0}, {"", 2}, {"", 1}});
  for (const Command& command : commands()) {
    if (command.who == Who::signed_in && !call.session.signed_in()) continue;
    table.add({std::string(command.name), std::string(command.usage), std::string(command.help)});
  }
  co_await call.terminal.show(
      table.text(call.terminal.columns()) +
      "Words can be shortened: l for list. A name with spaces goes in quotes: \"old letter\". "
      "For more about one of them: help list.\n");
}

}  // namespace stationer::server
