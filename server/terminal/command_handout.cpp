// handout: a copy of a file to each of those who are here.
#include "server/terminal/command.h"
#include "server/terminal/hand_in_words.h"

namespace stationer::server {

Task<void> command_handout(Call call) {
  const auto file = call.session.path(call.words[0]);
  if (call.refused(file)) co_return;
  std::string to = "+all";
  if (call.words.size() > 1) to = call.words[1];
  const auto carried = co_await call.session.hand_out(*file, std::move(to));
  if (call.refused(carried)) co_return;
  co_await call.terminal.show(carried_lines(*carried));
}

}  // namespace stationer::server
