// up: to the folder above. The next prompt shows where that is.
#include "server/terminal/command.h"

namespace stationer::server {

Task<void> command_up(Call call) {
  if (call.session.here().is_top()) {
    call.terminal.say("This is the top: there is nothing above it.");
    co_return;
  }
  call.refused(call.session.go(call.session.here().parent()));
}

}  // namespace stationer::server
