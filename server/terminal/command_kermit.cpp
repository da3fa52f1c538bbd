// kermit: the station's Kermit program asks for files, and sends them, until it says that it is
// done.
#include "server/protocol/kermit.h"
#include "server/terminal/carry.h"
#include "server/terminal/command.h"
#include "server/terminal/ways.h"

namespace stationer::server {

Task<void> command_kermit(Call call) {
  Cargo::Rules rules;
  rules.screen = call.terminal.screen();
  rules.folder = call.session.here();
  rules.replace = true;
  Cargo cargo(call.session, rules);
  call.terminal.say(
      "Your Kermit program may get and send files now. Its finish command, or Ctrl-C three times, "
      "leads back here.");
  Kermit::Options options;
  options.role = Kermit::Role::serve;
  options.seven_bits = call.terminal.seven_bits();
  Kermit server(options);
  const auto outcome = co_await carry(call.session, call.terminal, server, cargo);
  say_outcome(call.terminal, outcome, cargo);
}

}  // namespace stationer::server
