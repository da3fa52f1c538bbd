// go: to another folder, or back to one's own. The next prompt shows where that is.
#include "server/terminal/command.h"

namespace stationer::server {

Task<void> command_go(Call call) {
  const auto folder = call.words.empty() ? fs::Result<fs::Path>(call.session.home())
                                         : call.session.path(call.words[0]);
  if (call.refused(folder)) co_return;
  call.refused(call.session.go(*folder));
}

}  // namespace stationer::server
