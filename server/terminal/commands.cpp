#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "fs/text.h"
#include "server/terminal/command.h"

namespace stationer::server {
namespace {

constexpr std::array<Command, 25> table = {{
    {"access", "NAME [CHANGE]", "who may read and change it; c+r lets your class read",
     Who::anybody, 1, 2, command_access},
    {"bin", "[empty]", "what you have removed, and can have back", Who::signed_in, 0, 1,
     command_bin},
    {"bye", "", "sign off", Who::anybody, 0, 0, command_bye},
    {"cancel", "JOB", "take a print job back", Who::signed_in, 1, 1, command_cancel},
    {"copy", "FROM TO", "copy a file", Who::signed_in, 2, 2, command_copy},
    {"folder", "NAME", "make a folder", Who::signed_in, 1, 1, command_folder},
    {"go", "[FOLDER]", "to a folder; alone, to your own", Who::anybody, 0, 1, command_go},
    {"help", "[COMMAND]", "the commands, or how one is used", Who::anybody, 0, 1, command_help},
    {"info", "NAME", "all that is known about a file or folder", Who::anybody, 1, 1, command_info},
    {"jobs", "", "your print jobs that are not on paper yet", Who::signed_in, 0, 0, command_jobs},
    {"list", "[FOLDER]", "what is in a folder", Who::anybody, 0, 1, command_list},
    {"notice", "TO TEXT", "send a short notice: to a name, @class or @all", Who::signed_in, 2,
     any_words, command_notice},
    {"notices", "", "read the notices for you", Who::signed_in, 0, 0, command_notices},
    {"password", "[NAME]", "change your password; leaders also a member's", Who::signed_in, 0, 1,
     command_password},
    {"print", "NAME [QUEUE]", "print a text", Who::anybody, 1, 2, command_print},
    {"release", "JOB", "let a held print job go", Who::signed_in, 1, 1, command_release},
    {"remove", "NAME", "to the bin", Who::signed_in, 1, 1, command_remove},
    {"rename", "FROM TO", "give it another name, or move it", Who::signed_in, 2, 2, command_rename},
    {"restore", "NAME", "take it back out of the bin", Who::signed_in, 1, 1, command_restore},
    {"show", "NAME", "a text on the screen", Who::anybody, 1, 1, command_show},
    {"space", "", "how much room there is", Who::anybody, 0, 0, command_space},
    {"tray", "", "your printouts", Who::signed_in, 0, 0, command_tray},
    {"up", "", "to the folder above", Who::anybody, 0, 0, command_up},
    {"who", "", "who is here", Who::anybody, 0, 0, command_who},
    {"write", "NAME", "type in a text; a full stop alone on a line ends it", Who::signed_in, 1, 1,
     command_write},
}};

}  // namespace

std::span<const Command> commands() {
  return table;
}

fs::Result<const Command*> find_command(std::string_view word) {
  const std::string wanted = fs::ascii_lower(word);
  std::vector<const Command*> fitting;
  for (const Command& command : table) {
    if (command.name == wanted) return &command;
    if (command.name.starts_with(wanted)) fitting.push_back(&command);
  }
  if (fitting.size() == 1) return fitting.front();
  if (fitting.empty()) {
    return fs::Error{
        fs::Code::not_found,
        fmt::format("There is no command {}. Type help for those there are.", fs::clip(word, 20))};
  }
  std::string names;
  for (const Command* command : fitting) {
    names += names.empty() ? "" : command == fitting.back() ? " or " : ", ";
    names += command->name;
  }
  return fs::Error{fs::Code::bad_input, fmt::format("Do you mean {}?", names)};
}

fs::Result<std::vector<std::string>> split_words(std::string_view line) {
  std::vector<std::string> words;
  bool quoted = false;
  bool in_word = false;
  for (const char c : line) {
    if (c == '"') {
      quoted = !quoted;
      if (!in_word) words.emplace_back();
      in_word = true;
    } else if (c == ' ' && !quoted) {
      in_word = false;
    } else {
      if (!in_word) words.emplace_back();
      in_word = true;
      words.back() += c;
    }
  }
  if (quoted) return fs::Error{fs::Code::bad_input, "A quote is missing at the end of a name."};
  return words;
}

}  // namespace stationer::server
