// fetch: files of the store to the station, by a file transfer program there.
#include <fmt/format.h>

#include "fs/text.h"
#include "server/terminal/carry.h"
#include "server/terminal/command.h"
#include "server/terminal/plain.h"
#include "server/terminal/shown.h"
#include "server/terminal/ways.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_fetch(Call call) {
  std::vector<std::string> names = call.words;
  Cargo::Rules rules;
  rules.screen = call.terminal.screen();
  if (names.size() > 1 && fs::ascii_lower(names.back()) == "exact") {
    rules.exact = true;
    names.pop_back();
  }
  if (names.size() == 2 && fs::ascii_lower(names.back()) == plain_way) {
    const auto path = call.session.path(names[0]);
    if (call.refused(path)) co_return;
    co_await send_plain(call, *path);
    co_return;
  }
  const Way* named = names.size() > 1 ? find_way(names.back()) : nullptr;
  if (named != nullptr) names.pop_back();
  const auto found = way_for(named, names.size() > 1, call.terminal);
  if (call.refused(found)) co_return;
  const Way* way = *found;
  rules.text_ending = line_ending_of(*way, rules.screen);
  Cargo cargo(call.session, rules);
  for (const std::string& name : names) {
    const auto path = call.session.path(name);
    if (call.refused(path)) co_return;
    const auto content = call.session.open(*path);
    if (call.refused(content)) co_return;
    cargo.add(*path);
  }
  call.terminal.say(fmt::format("Receive by {} now. {}", way->name, way->how_to_stop));
  const auto transfer = way->send(call.terminal.seven_bits());
  const auto outcome = co_await carry(call.session, call.terminal, *transfer, cargo);
  say_outcome(call.terminal, outcome, cargo);
}

}  // namespace stationer::server
