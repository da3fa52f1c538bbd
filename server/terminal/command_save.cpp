// save: files of the station to the store, by a file transfer program there.
#include <fmt/format.h>

#include "fs/text.h"
#include "server/terminal/carry.h"
#include "server/terminal/command.h"
#include "server/terminal/plain.h"
#include "server/terminal/shown.h"
#include "server/terminal/ways.h"
#include "server/terminal/wording.h"

namespace stationer::server {

Task<void> command_save(Call call) {
  if (call.words.size() == 2 && fs::ascii_lower(call.words[1]) == plain_way) {
    // Nothing tells where a bare text ends but the text, as when it is typed in.
    call.words.pop_back();
    co_await command_write(std::move(call));
    co_return;
  }
  std::vector<std::string> words = call.words;
  Cargo::Rules rules;
  rules.screen = call.terminal.screen();
  rules.folder = call.session.here();
  if (words.size() > 1 && fs::ascii_lower(words.back()) == "text") {
    rules.text = true;
    words.pop_back();
  }
  const Way* named = find_way(words.back());
  if (named != nullptr) words.pop_back();
  const auto found = way_for(named, false, call.terminal);
  if (call.refused(found)) co_return;
  const Way* way = *found;
  if (words.size() > 1) {
    call.terminal.say("That is too much: save NAME, or save NAME kermit, or save kermit.");
    co_return;
  }
  if (words.empty() && !way->many) {
    call.terminal.say(
        fmt::format("{} does not say what a file is called: save NAME {}.", way->name, way->name));
    co_return;
  }
  rules.text_ending = line_ending_of(*way, rules.screen);
  rules.replace = true;
  if (!words.empty()) {
    const auto path = call.session.path(words[0]);
    if (call.refused(path)) co_return;
    const auto there = call.session.look(*path);
    if (there && there->folder) {
      rules.folder = *path;
    } else {
      rules.target = *path;
    }
    if (there && there->folder && !way->many) {
      call.terminal.say(fmt::format("{} is a folder. Say what the file is to be called there.",
                                    shown_name(call.session, *path)));
      co_return;
    }
    if (there && !there->folder) {
      const bool sure = co_await call.terminal.confirm(
          fmt::format("Replace {}?", shown_name(call.session, *path)));
      if (!sure) co_return;
    }
  }
  Cargo cargo(call.session, rules);
  if (rules.target) {
    // What would be refused whatever comes is said before anybody sends it.
    const auto trial = cargo.open({});
    if (call.refused(trial)) co_return;
  }
  call.terminal.say(fmt::format("Send by {} now. {}", way->name, way->how_to_stop));
  const auto transfer = way->receive(call.terminal.seven_bits());
  const auto outcome = co_await carry(call.session, call.terminal, *transfer, cargo);
  say_outcome(call.terminal, outcome, cargo);
}

}  // namespace stationer::server
