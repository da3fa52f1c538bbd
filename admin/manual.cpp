#include "admin/manual.h"

#include <algorithm>
#include <cctype>
#include <string_view>
#include <vector>

#include <fmt/format.h>

#include "admin/help.h"
#include "fs/text.h"

namespace stationer::admin {
namespace {

// Text as roff shows it: what would be a request or an escape is not one.
std::string roff(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '\\') {
      out += "\\e";
    } else if (c == '-') {
      out += "\\-";
    } else {
      out += c;
    }
  }
  if (out.starts_with('.') || out.starts_with('\'')) out.insert(0, "\\&");
  return out;
}

// A page's name and its description are one sentence.
std::string without_capital(std::string text) {
  text[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(text[0])));
  return text;
}

// Text as a macro's one argument.
std::string in_quotes(std::string_view text) {
  std::string out = "\"";
  for (const char c : roff(text)) out += c == '"' ? "\"\"" : std::string(1, c);
  return out + '"';
}

// Those that nearly every command has are told once.
bool is_common(const CLI::Option& option) {
  return option.check_lname("help") || option.check_lname("json") || option.check_lname("volume");
}

void append_options(std::vector<const CLI::Option*> options, std::string& out) {
  std::erase_if(options, [](const CLI::Option* option) { return is_common(*option); });
  for (const CLI::Option* option : options) {
    out +=
        fmt::format(".TP\n.B {}\n{}\n", in_quotes(as_typed(*option)), roff(sentence_of(*option)));
  }
}

void append_command(const CLI::App& command, std::string& out) {
  const auto below = commands_of(command);
  if (below.empty()) {
    out += fmt::format(".PP\n.B {}\n.RS 4\n{}\n", in_quotes(usage_of(command)),
                       roff(sentence_of(command)));
    append_options(arguments_of(command), out);
    append_options(options_of(command), out);
    out += ".RE\n";
    return;
  }
  for (const CLI::App* each : below) append_command(*each, out);
}

void append_examples(const CLI::App& command, std::string& out) {
  // The footers hold the examples: a title, then a line each.
  const std::string footer = command.get_footer();
  const auto first = footer.find('\n');
  if (commands_of(command).empty() && first != std::string::npos) {
    std::string_view lines = std::string_view(footer).substr(first + 1);
    while (!lines.empty()) {
      const auto end = std::min(lines.find('\n'), lines.size());
      std::string_view line = lines.substr(0, end);
      line.remove_prefix(std::min(line.find_first_not_of(' '), line.size()));
      out += roff(line) + '\n';
      lines.remove_prefix(std::min(end + 1, lines.size()));
    }
  }
  for (const CLI::App* each : commands_of(command)) append_examples(*each, out);
}

}  // namespace

std::string manual_page(const CLI::App& app) {
  const std::string name = app.get_name();
  std::string out;
  out += fmt::format(".TH {} 1 \"\" \"Stationer {}\" \"User Commands\"\n", fs::ascii_upper(name),
                     STATIONER_VERSION);
  out += fmt::format(".SH NAME\n{} \\- {}\n", name, roff(without_capital(app.get_description())));
  out += fmt::format(".SH SYNOPSIS\n.B {}\n.I COMMAND\n.RI [ .\\|.\\|. ]\n", name);
  out +=
      ".SH DESCRIPTION\n"
      "One program makes a volume, serves it, and looks after it. A volume is a directory that\n"
      "holds one whole service: files, accounts, printouts and settings.\n"
      ".PP\n"
      "The commands work through the service when one runs on the volume, and straight on the\n"
      "volume when none does; what they do is the same either way. Only the user that the volume\n"
      "belongs to, and root, can use them. What they do to accounts, rights\n"
      "and what was removed is in the journal.\n";
  out += ".SH OPTIONS\n";
  append_options(options_of(app), out);
  out +=
      ".TP\n.BI \"\\-\\-volume \" DIRECTORY\n"
      "The volume to work on. Every command that works on a volume has it.\n"
      ".TP\n.B \\-\\-json\n"
      "Say a listing, or all about one thing, as JSON in one line: a listing as an array, one\n"
      "thing as an object. Times are UTC.\n"
      ".TP\n.B \\-h, \\-\\-help\n"
      "Show how a command is used, with an example.\n";
  out += ".SH COMMANDS\n";
  for (const CLI::App* command : commands_of(app)) {
    const std::string title = name + ' ' + command->get_name();
    out += fmt::format(".SS {}\n", in_quotes(title));
    if (!commands_of(*command).empty()) out += roff(sentence_of(*command)) + "\n";
    append_command(*command, out);
  }
  out +=
      ".SH EXIT STATUS\n"
      ".TP\n.B 0\nIt was done.\n"
      ".TP\n.B 1\nIt could not be done; standard error says why.\n"
      ".TP\n.B 2\nThe command line is wrong.\n"
      ".SH ENVIRONMENT\n"
      ".TP\n.B STATIONER_VOLUME\nThe volume to work on when \\-\\-volume does not name one.\n"
      ".SH FILES\n"
      ".TP\n.I /etc/default/stationer\nNames the volume of the installed service, which commands "
      "work on when no other is named.\n"
      ".TP\n.I VOLUME/volume.toml\nThe settings of a volume, read when the service starts.\n"
      ".TP\n.I VOLUME/files/\nWhat stations see, under its own names.\n"
      ".TP\n.I VOLUME/printouts/\nThe printouts, by year, month and day.\n"
      ".TP\n.I VOLUME/archives/\nWhat was exported or left behind, by person.\n"
      ".TP\n.I VOLUME/control\nThe socket by which the commands reach the service.\n"
      ".SH EXAMPLES\n.nf\n";
  append_examples(app, out);
  out += ".fi\n";
  return out;
}

}  // namespace stationer::admin
