// handback: returns what one person handed in, or everybody.
#include "fs/text.h"
#include "server/terminal/command.h"
#include "server/terminal/hand_in_words.h"

namespace stationer::server {

Task<void> command_handback(Call call) {
  const auto where = call.session.hand_in_folder(call.words.size() > 1 ? call.words[1] : "");
  if (call.refused(where)) co_return;
  const auto folder = fs::Path::parse(where->path);
  if (call.refused(folder)) co_return;
  std::vector<std::string> accounts;
  if (fs::ascii_lower(call.words[0]) != "all") accounts.push_back(call.words[0]);
  const auto carried = co_await call.session.hand_back(*folder, std::move(accounts));
  if (call.refused(carried)) co_return;
  co_await call.terminal.show(carried_lines(*carried));
}

}  // namespace stationer::server
