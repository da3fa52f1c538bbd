// handin: copies a file into a hand-in folder; alone, tells which there are. The receipt is the
// session's to tell.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/hand_in_words.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_handin(Call call) {
  if (call.words.empty()) {
    const auto folders = call.session.hand_in_folders();
    if (folders.empty()) call.terminal.say("None of your classes has a folder to hand in to.");
    for (const auto& each : folders) call.terminal.say(times_sentence(each));
    co_return;
  }
  const auto from = call.session.path(call.words[0]);
  if (call.refused(from)) co_return;
  const auto view = call.session.look(*from);
  if (call.refused(view)) co_return;
  const auto where = call.session.hand_in_folder(call.words.size() > 1 ? call.words[1] : "");
  if (call.refused(where)) co_return;
  const auto folder = fs::Path::parse(where->path);
  if (call.refused(folder)) co_return;
  const auto handed_in = co_await call.session.copy(*from, *folder / view->name);
  if (call.refused(handed_in)) co_return;
  call.terminal.say(fmt::format("{} is handed in to {}.", call.session.shown(*view), where->path));
}

}  // namespace stationer::server
