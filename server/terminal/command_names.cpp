#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/table.h"

namespace stationer::server {

Task<void> command_names(Call call) {
  if (!call.words.empty()) {
    const auto style = fs::find_name_style(call.words[0]);
    if (call.refused(style)) co_return;
    call.session.use_names(call.terminal.names(**style));
    call.terminal.say(fmt::format("Names are now shown for {}.", (*style)->about));
    co_return;
  }
  const fs::NameStyle& now = call.session.names().style();
  Table table({{"", 0}, {"", 0}});
  for (const fs::NameStyle& style : fs::name_styles()) {
    table.add({std::string(style.name),
               std::string(style.about) + (style.name == now.name ? " (as it is now)" : "")});
  }
  co_await call.terminal.show(table.text(call.terminal.columns()));
}

}  // namespace stationer::server
