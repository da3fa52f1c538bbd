// bye: signs off. The shell ends the visit after it.
#include "server/terminal/command.h"

namespace stationer::server {

Task<void> command_bye(Call call) {
  call.session.sign_out();
  call.terminal.say("Good-bye.");
  co_return;
}

}  // namespace stationer::server
