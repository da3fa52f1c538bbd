#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "fs/text.h"
#include "server/terminal/command.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

constexpr auto table = std::to_array<Command>({
    {"access", "NAME [CHANGE]", "who may read or change it",
     "A change says who, + or -, and what: o the owner, c the class, e everyone; r to read, w to "
     "write. access letter.txt e+r lets everyone read it. +k keeps it from being changed or "
     "removed, -k ends that. Leaders may do what the members of their classes may, managers all.",
     Who::anybody, 1, 2, command_access},
    {"again", "JOB [QUEUE]", "print something once more",
     "JOB is the number of a printout of yours, as tray shows it, or of a refused job. What came "
     "in is kept for some days for that.",
     Who::signed_in, 1, 2, command_again},
    {"bin", "[empty]", "what was removed and can be had back",
     "bin empty takes it all away for good. restore NAME brings one thing back.", Who::signed_in, 0,
     1, command_bin},
    {"bind", "NAME [WHOSE]", "put printouts into one file",
     "Makes one PDF of printouts, with contents, and saves it as NAME. Leaders may bind what a "
     "class printed: bind evening.pdf of +tuesday since 2026-11-25. help find tells what may "
     "stand behind the name.",
     Who::signed_in, 1, whole_line, command_bind},
    {"bye", "", "sign off", "", Who::anybody, 0, 0, command_bye},
    {"cancel", "JOB", "take a print job back", "jobs shows the numbers.", Who::signed_in, 1, 1,
     command_cancel},
    {"choose", "[FOLDER]", "go through a folder on the whole screen",
     "For screens that put their cursor anywhere. + and - or the arrow keys go down and up, Enter "
     "opens, q leaves; the last row tells the other keys. choose bin brings back what was "
     "removed, choose jobs is for print jobs.",
     Who::anybody, 0, 1, command_choose},
    {"claim", "[CODE]", "take a printout that is yours",
     "Whoever keeps this room tells the code. Leaders see the codes with claim alone.",
     Who::signed_in, 0, whole_line, command_claim},
    {"collect", "FOLDER [WHERE]", "gather what was handed in",
     "For leaders. Copies everybody's last hand-ins to FOLDER, which is made, under names that "
     "begin with theirs. list.txt there tells what is whose, and who is missing.",
     Who::signed_in, 1, 2, command_collect},
    {"copy", "FROM TO", "copy a file", "TO is a new name, or a folder to copy it into.",
     Who::signed_in, 2, 2, command_copy},
    {"due", "[WHERE TIMES]", "when to hand in",
     "Leaders may set it: due week2 closes 2026-12-01 15:30. TIMES are opens or closes with a day "
     "and a time, or with never, and late yes or late no: whether to take work after closing, "
     "marked late. An empty folder of the class becomes one to hand in to; due week2 ordinary "
     "makes it one like others again. What was handed in stays there for leaders, and receipts "
     "stay.",
     Who::signed_in, 0, 9, command_due},
    {"extend", "NAME MINUTES", "let somebody sit idle for longer",
     "For leaders. Who types nothing for a long time is signed off; NAME is not, for so many "
     "minutes.",
     Who::signed_in, 2, 2, command_extend},
    {"fetch", "NAME... [HOW]", "send files to your machine",
     "HOW is xmodem, xmodem1k, ymodem, ymodem-g or kermit, whichever your machine has a program "
     "for, or plain, for a text that it records as it is shown; several files go by ymodem or "
     "kermit. Start receiving there when you are told to. Texts go in your machine's own "
     "characters and line ends; with exact at the end they stay as they are, as all other files "
     "do. By xmodem, what fills up the last block comes with the file.",
     Who::anybody, 1, 20, command_fetch},
    {"find", "WORDS [WHOSE]", "printouts by their words",
     "Finds what has all the words on one page: find tide table. \"tide table\" finds the two "
     "side by side, tid* all that begins so. Behind the words may stand of NAME or of +CLASS, "
     "queue NAME, since DAY and until DAY, as in find tide since 2026-11-01. Leaders also find "
     "what the members of their classes printed.",
     Who::signed_in, 1, whole_line, command_find},
    {"finish", "[JOB]", "end a print job that is still coming in",
     "For machines that do not say when they are done. finish alone ends the one that comes from "
     "the machine you sit at.",
     Who::signed_in, 0, 1, command_finish},
    {"folder", "NAME", "make a folder", "", Who::signed_in, 1, 1, command_folder},
    {"forgot", "NAME", "give somebody a new password",
     "For leaders. A member of your classes gets a password that is made up, and shown to you "
     "once. "
     "Leaders and managers are not helped here.",
     Who::signed_in, 1, 1, command_forgot},
    {"freeze", "CLASS [TIME]", "eyes front: no saving, no printing",
     "For leaders. The class is told, and may go on after thaw CLASS, or after TIME, in minutes; "
     "an hour at most. What they have typed stays on their screens.",
     Who::signed_in, 1, 2, command_freeze},
    {"go", "[FOLDER]", "go to a folder",
     "go alone leads to your own folder, go .. to the one above, go / to the top.", Who::anybody, 0,
     1, command_go},
    {"handback", "NAME [WHERE]", "give work back",
     "For leaders. NAME is a person, or all. What they handed in last, as it is now, is copied to "
     "their own folder, under returned, and they get a notice.",
     Who::signed_in, 1, 2, command_handback},
    {"handin", "[NAME] [WHERE]", "hand a file in",
     "You get a receipt; receipts lists yours. What is handed in can't be changed, but you may "
     "hand in again. WHERE is a class or a folder, if you have several. handin alone tells where.",
     Who::signed_in, 0, 2, command_handin},
    {"handout", "NAME... [TO]", "give files to all who are here",
     "For leaders. NAME is a file, or a folder: all the files in it. TO is a person, or +CLASS: "
     "those of the class who are signed in; without it, all you look after. Each gets copies of "
     "their own in their folder given, and is told.",
     Who::signed_in, 1, 20, command_handout},
    {"help", "[COMMAND]", "the commands, or how one is used", "", Who::anybody, 0, 1, command_help},
    {"hold", "JOB [WHY]", "keep a waiting print job back", "release JOB lets it go.",
     Who::signed_in, 1, whole_line, command_hold},
    {"info", "NAME", "all about a file or folder", "", Who::anybody, 1, 1, command_info},
    {"jobs", "[all]", "print jobs that are not done yet",
     "jobs all shows everybody's, but what they are only of your own and of those you look after.",
     Who::signed_in, 0, 1, command_jobs},
    {"kermit", "", "let your Kermit program do the work",
     "Its get, send and finish commands work then, in the folder where you are. fetch NAME kermit "
     "and save kermit carry files without that.",
     Who::anybody, 0, 0, command_kermit},
    {"list", "[FOLDER]", "what is in a folder",
     "The letters under access say what the owner, the class and everyone may do: r read, w "
     "write; k means kept. A name that ends in / is a folder.",
     Who::anybody, 0, 1, command_list},
    {"names", "[STYLE]", "how names are shown on this screen",
     "names alone tells the styles there are; names dos, say, chooses one until you sign off. A "
     "name that this screen can't show has a short one instead; info NAME tells the real one. A "
     "letter that your keyboard lacks is typed by its number in Unicode between two equals signs: "
     "caf=E9= is caf with an accented e.",
     Who::anybody, 0, 1, command_names},
    {"notice", "TO TEXT", "send a short notice",
     "TO is a name. Leaders may also write to +CLASS, managers to +all.", Who::signed_in, 2,
     whole_line, command_notice},
    {"notices", "", "read the notices for you", "Once read to the end, they are gone.",
     Who::signed_in, 0, 0, command_notices},
    {"password", "[NAME]", "change your password", "Leaders may give NAME a new one.",
     Who::signed_in, 0, 1, command_password},
    {"print", "NAME [QUEUE]", "print a text", "", Who::anybody, 1, 2, command_print},
    {"queue", "[JOB QUEUE]", "the print queues, or move a job",
     "queue 12 listing puts job 12 in the queue listing. queue alone shows the queues, and how "
     "much you may still print there.",
     Who::anybody, 0, 2, command_queue},
    {"receipts", "", "what you have handed in", "", Who::signed_in, 0, 0, command_receipts},
    {"refuse", "JOB WHY", "do not have a job printed", "For leaders. Its owner reads why.",
     Who::signed_in, 2, whole_line, command_refuse},
    {"release", "JOB", "let a held print job go", "jobs shows the numbers.", Who::signed_in, 1, 1,
     command_release},
    {"remove", "NAME", "put a file or folder in the bin", "restore NAME brings it back.",
     Who::signed_in, 1, 1, command_remove},
    {"rename", "FROM TO", "give it a new name, or move it",
     "TO is a new name, or a folder to move it into.", Who::signed_in, 2, 2, command_rename},
    {"restore", "NAME [NUMBER]", "bring back what was removed or replaced",
     "What was removed returns from the bin to the folder it was in; of several with that name, "
     "the last removed. With a number, a file is again what versions NAME shows under it.",
     Who::signed_in, 1, 2, command_restore},
    {"roll", "[WHERE]", "who has handed in, and who hasn't", "For leaders.", Who::signed_in, 0, 1,
     command_roll},
    {"save", "[NAME] [HOW]", "take a file from your machine",
     "HOW is xmodem, ymodem, ymodem-g or kermit, or plain, for a text that is typed by itself and "
     "ends as with write. ymodem and kermit say what files are called, so NAME can be left out. "
     "Start sending on your machine when you are told to. With text at the end the file is a text "
     "in your machine's characters; else it is kept byte for byte. What fills up the last block "
     "of xmodem is left out. What a file was before is under versions NAME. A transfer that "
     "breaks leaves nothing behind: begin it again.",
     Who::signed_in, 1, 3, command_save},
    {"screen", "[WHAT...]", "what your screen can show",
     "screen 40 16 capitals, say: its columns, its rows, and capitals when it has no small letters "
     "or small when it has. The name of a set of characters may stand there, too, such as ascii or "
     "utf-8. It holds until you sign off.",
     Who::anybody, 0, 4, command_screen},
    {"show", "NAME", "read a text on the screen", "", Who::anybody, 1, 1, command_show},
    {"space", "", "how much room there is", "", Who::anybody, 0, 0, command_space},
    {"thaw", "CLASS", "let them save and print again", "For leaders: the end of freeze.",
     Who::signed_in, 1, 1, command_thaw},
    {"tray", "", "your printouts", "", Who::signed_in, 0, 0, command_tray},
    {"typein", "[WHAT] [NAME]", "what to type in on a machine without programs",
     "For machines that have nothing but their BASIC or a monitor. typein alone tells what there "
     "is. Behind the name of a file may stand its address in hex digits, if another is meant than "
     "the file's own: typein hex LOADER 4000. A line is checked by a number that a slip changes; "
     "the numbers are not typed in. Once the BASIC program is right, save it there if the machine "
     "can.",
     Who::anybody, 0, 3, command_typein},
    {"undo", "", "take back what you did last",
     "What you removed comes back, what you moved goes back, a file that you replaced is what it "
     "was before, and what you made goes to the bin. What somebody has changed since stays.",
     Who::signed_in, 0, 0, command_undo},
    {"up", "", "go to the folder above", "", Who::anybody, 0, 0, command_up},
    {"versions", "NAME", "what a file was before it was replaced",
     "restore NAME NUMBER makes it again what it was.", Who::signed_in, 1, 1, command_versions},
    {"who", "", "who is here", "", Who::anybody, 0, 0, command_who},
    {"why", "", "why something did not work",
     "Tells of the last thing that was refused to you, and whom to ask.", Who::anybody, 0, 0,
     command_why},
    {"write", "NAME", "type in a text",
     "A line with nothing but a full stop ends the text and saves it. For a line that is to hold "
     "just one full stop, type two. The interrupt key (Ctrl-C) throws the text away.",
     Who::signed_in, 1, 1, command_write},
});

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
  if (fitting.empty() || wanted.empty()) {
    return fs::Error{fs::Code::not_found,
                     fmt::format("There is no command \"{}\". Type help for those there are.",
                                 fs::clip(word, 20))};
  }
  std::vector<std::string> names;
  for (const Command* command : fitting) names.emplace_back(command->name);
  return fs::Error{fs::Code::bad_input, fmt::format("Do you mean {}?", listed(names, "or"))};
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
  if (quoted) {
    return fs::Error{fs::Code::bad_input, "There is a quote (\") without its other half."};
  }
  return words;
}

FirstWord first_word(std::string_view line) {
  line.remove_prefix(std::min(line.find_first_not_of(' '), line.size()));
  const auto end = std::min(line.find(' '), line.size());
  std::string_view rest = line.substr(end);
  rest.remove_prefix(std::min(rest.find_first_not_of(' '), rest.size()));
  return {line.substr(0, end), rest};
}

}  // namespace stationer::server
