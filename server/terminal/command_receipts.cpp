// receipts: what the member has handed in, newest first.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/table.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_receipts(Call call) {
  const auto receipts = call.session.receipts();
  if (receipts.empty()) {
    call.terminal.say("You have not handed anything in yet.");
    co_return;
  }
  Table table({{"no.", 0, true}, {"name", 0}, {"handed in", 1}, {"", 2}, {"where", 3}});
  for (const auto& each : receipts) {
    std::vector<std::string> marks;
    if (each.version > 1) marks.push_back(fmt::format("version {}", each.version));
    if (each.late) marks.emplace_back("late");
    if (each.returned) marks.emplace_back("came back");
    table.add({fmt::format("{}", each.number), each.name, short_date(each.at),
               fmt::format("{}", fmt::join(marks, ", ")), each.place});
  }
  co_await call.terminal.show(table.text(call.terminal.columns()));
}

}  // namespace stationer::server
