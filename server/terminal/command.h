// The terminal's commands: plain English words of at most eight letters, to be shortened as long as
// only one fits. The table is data (commands.cpp); each command has a file of its own.
//
// A command asks the session for everything (invariant 3) and says what came of it; errors are said
// as the store words them.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fs/result.h"
#include "server/session.h"
#include "server/task.h"
#include "server/terminal/terminal.h"

namespace stationer::server {

struct Call {
  Session& session;
  Terminal& terminal;
  std::vector<std::string> words;  // after the command's own
  std::string rest;                // the same as typed

  // Says why, and is true, when something did not work out.
  template <class T>
  bool refused(const fs::Result<T>& result) {
    if (result.has_value()) return false;
    terminal.say(result.error().message);
    session.told(result.error());
    return true;
  }
};

enum class Who { anybody, signed_in };

struct Command {
  std::string_view name;
  std::string_view usage;  // what follows the name: "NAME [QUEUE]"
  std::string_view help;   // one line
  std::string_view more;   // what else help says about this command; may be empty
  Who who = Who::anybody;
  std::size_t least = 0;  // words needed
  std::size_t most = 0;   // words taken
  Task<void> (*run)(Call call);
};

// As `most`: the command takes the line as it was typed, quotes and all.
inline constexpr std::size_t whole_line = 99;

std::span<const Command> commands();

// The command that `word` names or begins, in any case. Code::not_found; Code::bad_input with those
// that fit when there are several.
fs::Result<const Command*> find_command(std::string_view word);

// Cuts a line into words at spaces; quotes hold a name with spaces together. Code::bad_input for a
// quote that is not closed.
fs::Result<std::vector<std::string>> split_words(std::string_view line);

// The first word of a line as typed, and what comes after it, without the spaces between.
struct FirstWord {
  std::string_view word;
  std::string_view rest;
};
FirstWord first_word(std::string_view line);

// The commands.
Task<void> command_access(Call call);
Task<void> command_again(Call call);
Task<void> command_bin(Call call);
Task<void> command_bind(Call call);
Task<void> command_bye(Call call);
Task<void> command_cancel(Call call);
Task<void> command_choose(Call call);
Task<void> command_claim(Call call);
Task<void> command_collect(Call call);
Task<void> command_copy(Call call);
Task<void> command_due(Call call);
Task<void> command_extend(Call call);
Task<void> command_fetch(Call call);
Task<void> command_find(Call call);
Task<void> command_finish(Call call);
Task<void> command_folder(Call call);
Task<void> command_forgot(Call call);
Task<void> command_freeze(Call call);
Task<void> command_go(Call call);
Task<void> command_handback(Call call);
Task<void> command_handin(Call call);
Task<void> command_handout(Call call);
Task<void> command_help(Call call);
Task<void> command_hold(Call call);
Task<void> command_info(Call call);
Task<void> command_jobs(Call call);
Task<void> command_kermit(Call call);
Task<void> command_list(Call call);
Task<void> command_names(Call call);
Task<void> command_notice(Call call);
Task<void> command_notices(Call call);
Task<void> command_password(Call call);
Task<void> command_print(Call call);
Task<void> command_queue(Call call);
Task<void> command_receipts(Call call);
Task<void> command_refuse(Call call);
Task<void> command_release(Call call);
Task<void> command_remove(Call call);
Task<void> command_rename(Call call);
Task<void> command_restore(Call call);
Task<void> command_roll(Call call);
Task<void> command_save(Call call);
Task<void> command_screen(Call call);
Task<void> command_show(Call call);
Task<void> command_space(Call call);
Task<void> command_thaw(Call call);
Task<void> command_tray(Call call);
Task<void> command_typein(Call call);
Task<void> command_undo(Call call);
Task<void> command_up(Call call);
Task<void> command_versions(Call call);
Task<void> command_who(Call call);
Task<void> command_why(Call call);
Task<void> command_write(Call call);

}  // namespace stationer::server
