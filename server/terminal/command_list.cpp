// list: what is in a folder, one line each, as wide as the screen allows.
#include <algorithm>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_list(Call call) {
  auto folder = call.session.path(call.words.empty() ? "." : call.words[0]);
  if (!folder) {
    call.terminal.say(folder.error().message);
    co_return;
  }
  auto views = call.session.list(*folder);
  if (!views) {
    call.terminal.say(views.error().message);
    co_return;
  }
  if (views->empty()) {
    call.terminal.say("There is nothing here.");
    co_return;
  }
  const int columns = call.terminal.columns();
  std::string text;
  for (const auto& view : *views) {
    const std::string name = view.folder ? view.name + "/" : view.name;
    const std::string size = view.folder ? "" : short_size(view.size);
    if (columns >= 64) {
      text += fmt::format("{} {:>7} {:<7} {:<10} {}\n", padded(name, 26), size, view.access.text(),
                          view.owner, short_date(view.modified));
    } else if (columns >= 36) {
      text += fmt::format("{} {:>7} {}\n", padded(name, 20), size, view.access.text());
    } else {
      text += name + "\n";
    }
  }
  co_await call.terminal.show(std::move(text));
}

}  // namespace stationer::server
