// bin: what was removed and can be had back; "bin empty" takes one's own away for good.
#include <algorithm>

#include <fmt/format.h>

#include "fs/text.h"
#include "server/terminal/command.h"
#include "server/terminal/shown.h"
#include "server/terminal/table.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

Task<void> list_bin(Call& call, const std::vector<fs::BinView>& bin) {
  const std::string own = call.session.name();
  Table table({{"name", 0}, {"size", 3, true}, {"removed", 2}, {"owner", 1}});
  for (const auto& each : bin) {
    const auto path = fs::Path::parse(each.path);
    const std::string name = path ? shown_removed_from_here(call.session, *path) : each.path;
    table.add({name + (each.folder ? "/" : ""), short_size(each.size), short_date(each.removed),
               each.owner == own ? "" : each.owner});
  }
  co_await call.terminal.show(table.text(call.terminal.columns()));
}

Task<void> empty_bin(Call& call, std::vector<fs::BinView> bin) {
  const std::string own = call.session.name();
  std::erase_if(bin, [&](const fs::BinView& each) { return each.owner != own; });
  if (bin.empty()) {
    call.terminal.say("There is nothing of yours in the bin.");
    co_return;
  }
  std::uint64_t size = 0;
  for (const auto& each : bin) size += each.size;
  const bool sure = co_await call.terminal.confirm(fmt::format(
      "{} in your bin, {}: take away for good?", counted(bin.size(), "thing"), short_size(size)));
  if (!sure) {
    call.terminal.say("The bin is as it was.");
    co_return;
  }
  const auto emptied = co_await call.session.empty_bin();
  if (call.refused(emptied)) co_return;
  const auto left = call.session.bin();
  const bool empty = std::none_of(left.begin(), left.end(),
                                  [&](const fs::BinView& each) { return each.owner == own; });
  call.terminal.say(empty
                        ? "Your bin is empty."
                        : "What has the keep bit stays in your bin: restore it, and clear the bit "
                          "first.");
}

}  // namespace

Task<void> command_bin(Call call) {
  auto bin = call.session.bin();
  if (!call.words.empty()) {
    if (fs::ascii_lower(call.words[0]) == "empty") {
      co_await empty_bin(call, std::move(bin));
    } else {
      call.terminal.say("Type bin alone to see what is in it, or bin empty.");
    }
    co_return;
  }
  if (bin.empty()) {
    call.terminal.say("The bin is empty.");
    co_return;
  }
  co_await list_bin(call, bin);
}

}  // namespace stationer::server
