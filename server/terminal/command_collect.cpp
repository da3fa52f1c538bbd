// collect: copies what was handed in to one folder of the leader's.
#include "server/terminal/command.h"
#include "server/terminal/hand_in_words.h"

namespace stationer::server {

Task<void> command_collect(Call call) {
  const auto to = call.session.path(call.words[0]);
  if (call.refused(to)) co_return;
  const auto where = call.session.hand_in_folder(call.words.size() > 1 ? call.words[1] : "");
  if (call.refused(where)) co_return;
  const auto folder = fs::Path::parse(where->path);
  if (call.refused(folder)) co_return;
  const auto carried = co_await call.session.collect(*folder, *to);
  if (call.refused(carried)) co_return;
  co_await call.terminal.show(carried_lines(*carried));
}

}  // namespace stationer::server
