// access: in words, who may do what with a file or folder; given a change, makes it first.
#include "server/terminal/access_words.h"
#include "server/terminal/command.h"

namespace stationer::server {

Task<void> command_access(Call call) {
  const auto path = call.session.path(call.words[0]);
  if (call.refused(path)) co_return;
  if (call.words.size() > 1) {
    const auto changed = co_await call.session.set_access(*path, call.words[1]);
    if (call.refused(changed)) co_return;
  }
  const auto view = call.session.look(*path);
  if (call.refused(view)) co_return;
  co_await call.terminal.show(access_in_words(call.session, *path, *view));
}

}  // namespace stationer::server
