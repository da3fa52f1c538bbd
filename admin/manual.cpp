#include "admin/manual.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <string_view>
#include <vector>

#include <fmt/format.h>

#include "admin/help.h"
#include "admin/roff.h"
#include "admin/settings_manual.h"

namespace stationer::admin {
namespace {

// The page of a command: "stationer-account".
std::string page_of(const CLI::App& command) {
  std::string name = path_of(command);
  std::replace(name.begin(), name.end(), ' ', '-');
  return name;
}

// What a command does, in one line: a page's name and that are one sentence.
std::string in_a_line(const CLI::App& command) {
  std::string text = command.get_description();
  text.resize(std::min({text.size(), text.find(": "), text.find(". ")}));
  text[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(text[0])));
  return text;
}

// Those that nearly every command has are told in the same words everywhere.
struct Common {
  const char* name;
  const char* entry;
};
constexpr std::array<Common, 3> common = {{
    {"volume",
     ".TP\n.BI \"\\-\\-volume \" DIRECTORY\n"
     "The volume to work on. Every command that works on a volume has it.\n"},
    {"json",
     ".TP\n.B \\-\\-json\n"
     "Say a listing, or all about one thing, as JSON in one line: a listing as an array, one\n"
     "thing as an object. Times are UTC.\n"},
    {"help",
     ".TP\n.B \\-h, \\-\\-help\n"
     "Show how a command is used, with an example.\n"},
}};

bool is_common(const CLI::Option& option) {
  return std::any_of(common.begin(), common.end(),
                     [&](const Common& each) { return option.check_lname(each.name); });
}

// Whether the command, or one below it, has that option.
bool has_option(const CLI::App& command, const char* name) {
  const auto options = options_of(command);
  const auto below = commands_of(command);
  return std::any_of(options.begin(), options.end(),
                     [&](const CLI::Option* each) { return each->check_lname(name); }) ||
         std::any_of(below.begin(), below.end(),
                     [&](const CLI::App* each) { return has_option(*each, name); });
}

void append_options(std::vector<const CLI::Option*> options, std::string& out) {
  std::erase_if(options, [](const CLI::Option* option) { return is_common(*option); });
  for (const CLI::Option* option : options) {
    out += fmt::format(".TP\n.B {}\n{}\n", roff_argument(as_typed(*option)),
                       roff(sentence_of(*option)));
  }
}

void append_common_options(const CLI::App& command, std::string& out) {
  for (const Common& each : common) {
    if (has_option(command, each.name)) out += each.entry;
  }
}

// The commands that do something, in their order.
std::vector<const CLI::App*> deeds_of(const CLI::App& command) {
  const auto below = commands_of(command);
  if (below.empty()) return {&command};
  std::vector<const CLI::App*> out;
  for (const CLI::App* each : below) {
    const auto deeds = deeds_of(*each);
    out.insert(out.end(), deeds.begin(), deeds.end());
  }
  return out;
}

void append_examples(const CLI::App& command, std::string& out) {
  out += ".SH EXAMPLES\n.nf\n";
  for (const CLI::App* deed : deeds_of(command)) {
    // The footers hold the examples: a title, then a line each.
    const std::string footer = deed->get_footer();
    std::string_view lines = footer;
    lines.remove_prefix(std::min(lines.find('\n'), lines.size() - 1) + 1);
    while (!lines.empty()) {
      const auto end = std::min(lines.find('\n'), lines.size());
      std::string_view line = lines.substr(0, end);
      line.remove_prefix(std::min(line.find_first_not_of(' '), line.size()));
      out += roff(line) + '\n';
      lines.remove_prefix(std::min(end + 1, lines.size()));
    }
  }
  out += ".fi\n";
}

// What lies where, and the commands that it is for.
struct File {
  std::string_view path;
  std::string_view what;
  std::string_view commands;
};
constexpr std::array<File, 7> files = {{
    {"/etc/default/stationer",
     "Names the volume of the installed service, which commands work on when no other is named.",
     "init serve"},
    {"VOLUME/volume.toml", "The settings of a volume, read when the service starts.",
     "init serve queue printer station line snapshot"},
    {"VOLUME/files/", "What stations see, under its own names.", "file adopt hand-in check"},
    {"VOLUME/printouts/", "The printouts, by year, month and day.", "printout queue"},
    {"VOLUME/archives/", "What was exported or left behind, by person.", "account year"},
    {"VOLUME/snapshots/", "The snapshots that the service takes, unless they go elsewhere.",
     "snapshot"},
    {"VOLUME/control", "The socket by which the commands reach the service.",
     "serve status console"},
}};

bool is_for(const File& file, std::string_view command) {
  return fmt::format(" {} ", file.commands).find(fmt::format(" {} ", command)) != std::string::npos;
}

// `command`: the name of one; empty for all that there is.
void append_files(std::string_view command, std::string& out) {
  std::string entries;
  for (const File& file : files) {
    if (!command.empty() && !is_for(file, command)) continue;
    entries += fmt::format(".TP\n.I {}\n{}\n", roff(file.path), roff(file.what));
  }
  if (!entries.empty()) out += ".SH FILES\n" + entries;
}

void append_exit_status(std::string& out) {
  out +=
      ".SH EXIT STATUS\n"
      ".TP\n.B 0\nIt was done.\n"
      ".TP\n.B 1\nIt could not be done; standard error says why.\n"
      ".TP\n.B 2\nThe command line is wrong.\n";
}

void append_environment(std::string& out) {
  out +=
      ".SH ENVIRONMENT\n"
      ".TP\n.B STATIONER_VOLUME\nThe volume to work on when \\-\\-volume does not name one.\n";
}

}  // namespace

std::vector<FirstStep> first_steps() {
  return {
      {"stationer init room",
       "Makes a volume, the folder room, by five questions, and shows cards that tell how each "
       "kind "
       "of machine connects. For the installed service it is sudo stationer init "
       "/var/lib/stationer/room."},
      {"stationer serve --volume room",
       "Opens its doors until Ctrl-C. The installed service is started by sudo systemctl start "
       "stationer. In another terminal, export STATIONER_VOLUME=room spares naming it again."},
      {"stationer class add evening", "Makes a class; its folder is /classes/evening."},
      {"stationer account add robin wren --class evening",
       "Makes two accounts, and says the passwords that were made up for them."},
      {"stationer account import people.csv",
       "Says what a list from the office would do; with --apply, and slips to cut apart, it is "
       "done."},
      {"stationer cards --pdf cards.pdf", "Puts the cards on paper, to lie beside the machines."},
      {"stationer status", "Says whether all is well, and what to do if not."},
      {"stationer console", "Shows the room on a whole screen, and acts on what it shows."},
      {"stationer why", "Tells what did not work, and the command that would change it."},
  };
}

std::string manual_page(const CLI::App& app) {
  const std::string name = app.get_name();
  std::string out = roff_head(name, 1, in_a_line(app));
  out += fmt::format(".SH SYNOPSIS\n.B {}\n.I COMMAND\n.RI [ .\\|.\\|. ]\n", name);
  out +=
      ".SH DESCRIPTION\n"
      "One box serves a room of old machines, whatever their age: shared storage with accounts,\n"
      "access bits and quotas, one copy of each program for all, printouts as PDFs, and doors for\n"
      "the protocols that the machines have always spoken. This program makes a volume, serves\n"
      "it, and looks after it. A volume is a directory that holds one whole service: files,\n"
      "accounts, printouts and settings.\n"
      ".PP\n"
      "The commands work through the service when one runs on the volume, and straight on the\n"
      "volume when none does; what they do is the same either way. Only the user that the volume\n"
      "belongs to, and root, can use them. What they do to accounts, rights\n"
      "and what was removed is in the journal.\n"
      ".SH FIRST STEPS\n";
  for (const FirstStep& step : first_steps()) {
    out += fmt::format(".TP\n.B {}\n{}\n", roff_argument(step.line), roff(step.why));
  }
  out +=
      ".SH COMMANDS\n"
      "Each has a page of its own, and says more with\n.BR \\-\\-help .\n";
  for (const CLI::App* command : commands_of(app)) {
    out += fmt::format(".TP\n{}{}\n", roff_reference(page_of(*command), 1),
                       roff(sentence_of(*command)));
  }
  out += ".SH OPTIONS\n";
  append_options(options_of(app), out);
  append_common_options(app, out);
  append_exit_status(out);
  append_environment(out);
  append_files("", out);
  out += ".SH SEE ALSO\n";
  for (const CLI::App* command : commands_of(app)) out += roff_reference(page_of(*command), 1, ",");
  return out + roff_reference(settings_page, 5);
}

std::string manual_page_of(const CLI::App& command) {
  const auto deeds = deeds_of(command);
  const bool is_group = !commands_of(command).empty();
  std::string out = roff_head(page_of(command), 1, in_a_line(command));
  out += ".SH SYNOPSIS\n.nf\n";
  for (const CLI::App* deed : deeds) out += fmt::format(".B {}\n", roff_argument(usage_of(*deed)));
  out += fmt::format(".fi\n.SH DESCRIPTION\n{}\n", roff(sentence_of(command)));
  if (is_group) {
    out += ".SH COMMANDS\n";
    for (const CLI::App* deed : deeds) {
      out += fmt::format(".SS {}\n{}\n", roff_argument(usage_of(*deed)), roff(sentence_of(*deed)));
      append_options(arguments_of(*deed), out);
      append_options(options_of(*deed), out);
    }
  }
  out += ".SH OPTIONS\n";
  if (!is_group) {
    append_options(arguments_of(command), out);
    append_options(options_of(command), out);
  }
  append_common_options(command, out);
  append_exit_status(out);
  if (has_option(command, "volume")) append_environment(out);
  append_files(command.get_name(), out);
  append_examples(command, out);
  out += ".SH SEE ALSO\n" + roff_reference(command.get_parent()->get_name(), 1, ",");
  return out + roff_reference(settings_page, 5);
}

}  // namespace stationer::admin
