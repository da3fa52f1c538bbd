// due: when a hand-in folder takes work; leaders set it, and make folders ones to hand in to.
#include "fs/text.h"
#include "server/terminal/command.h"
#include "server/terminal/hand_in_words.h"

namespace stationer::server {

Task<void> command_due(Call call) {
  const bool ordinary = !call.words.empty() && fs::ascii_lower(call.words.back()) == "ordinary";
  if (ordinary) call.words.pop_back();
  const bool named = !call.words.empty() && !begins_times(call.words[0]);
  auto folder = call.session.hand_in_folder(named ? call.words[0] : "");
  const std::span<const std::string> changes = std::span(call.words).subspan(named ? 1 : 0);
  if (ordinary && !changes.empty()) {
    call.terminal.say("ordinary comes alone behind the folder: due week2 ordinary.");
    co_return;
  }
  if (ordinary) {
    if (call.refused(folder)) co_return;
    const auto path = fs::Path::parse(folder->path);
    if (call.refused(path)) co_return;
    const auto made = co_await call.session.make_ordinary(*path);
    if (call.refused(made)) co_return;
    call.terminal.say(ordinary_sentence(*folder));
    co_return;
  }
  if (changes.empty()) {
    if (!call.refused(folder)) call.terminal.say(times_sentence(*folder));
    co_return;
  }
  if (!folder && named && folder.error().code == fs::Code::bad_input) {
    // One that is none yet becomes one.
    const auto path = call.session.path(call.words[0]);
    const auto view = path ? call.session.look(*path) : path.error();
    if (view) folder = fs::HandInView{path->text(), view->klass, {}};
  }
  if (call.refused(folder)) co_return;
  const auto times = changed_times(folder->times, changes);
  if (call.refused(times)) co_return;
  const auto path = fs::Path::parse(folder->path);
  if (call.refused(path)) co_return;
  const auto set = co_await call.session.set_hand_in_times(*path, *times);
  if (call.refused(set)) co_return;
  folder->times = *times;
  call.terminal.say(times_sentence(*folder));
}

}  // namespace stationer::server
