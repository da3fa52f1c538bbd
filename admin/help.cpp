#include "admin/help.h"

#include <algorithm>
#include <string_view>

#include <fmt/format.h>

namespace stationer::admin {
namespace {

constexpr std::size_t text_column = 24;

// Words up to the width, each further line indented.
void append_wrapped(std::string_view text, std::size_t indent, std::string& out) {
  std::size_t column = indent;
  bool first = true;
  while (!text.empty()) {
    const std::string_view word = text.substr(0, text.find(' '));
    text.remove_prefix(std::min(word.size() + 1, text.size()));
    if (!first && column + 1 + word.size() > Help::width) {
      out += '\n' + std::string(indent, ' ');
      column = indent;
    } else if (!first) {
      out += ' ';
      ++column;
    }
    out += word;
    column += word.size();
    first = false;
  }
  out += '\n';
}

// A name on the left and its text on the right, below the name when that is long.
void append_entry(const std::string& name, std::string_view text, std::string& out) {
  out += "  " + name;
  const std::size_t column = name.size() + 2;
  out += column + 2 <= text_column ? std::string(text_column - column, ' ')
                                   : '\n' + std::string(text_column, ' ');
  append_wrapped(text, text_column, out);
}

void append_options(const std::string& title, const std::vector<const CLI::Option*>& options,
                    std::string& out) {
  if (options.empty()) return;
  out += '\n' + title + ":\n";
  for (const CLI::Option* option : options) {
    append_entry(as_typed(*option), sentence_of(*option), out);
  }
}

std::string sentence(std::string text) {
  return text.ends_with('.') ? text : text + '.';
}

}  // namespace

std::string path_of(const CLI::App& app) {
  const CLI::App* above = app.get_parent();
  return above == nullptr ? app.get_name() : path_of(*above) + ' ' + app.get_name();
}

std::vector<const CLI::App*> commands_of(const CLI::App& app) {
  return app.get_subcommands([](const CLI::App*) { return true; });
}

std::vector<const CLI::Option*> arguments_of(const CLI::App& command) {
  return command.get_options([](const CLI::Option* option) { return option->get_positional(); });
}

std::vector<const CLI::Option*> options_of(const CLI::App& command) {
  return command.get_options([](const CLI::Option* option) { return !option->get_positional(); });
}

std::string as_typed(const CLI::Option& option) {
  if (option.get_positional()) {
    std::string name = option.get_name(true);
    if (option.get_items_expected_max() > 1) name += "...";
    return option.get_required() ? name : '[' + name + ']';
  }
  std::string names;
  for (const std::string& name : option.get_snames()) names += "-" + name + ", ";
  for (const std::string& name : option.get_lnames()) names += "--" + name + ", ";
  names.resize(names.size() - 2);
  const std::string type = option.get_type_name();  // behind a colon: what checks the value
  if (option.get_type_size() == 0 || type.empty()) return names;
  return names + ' ' + type.substr(0, type.find(':'));
}

std::string sentence_of(const CLI::Option& option) {
  const std::string usual = option.get_default_str();
  return sentence(option.get_description() +
                  (usual.empty() ? "" : fmt::format("; {} if not given", usual)));
}

std::string sentence_of(const CLI::App& command) {
  return sentence(command.get_description());
}

std::string usage_of(const CLI::App& command) {
  std::string out = path_of(command);
  if (!commands_of(command).empty()) return out + " COMMAND ...";
  for (const CLI::Option* argument : arguments_of(command)) out += ' ' + as_typed(*argument);
  return out + " [options]";
}

std::string Help::make_help(const CLI::App* app, std::string /*name*/,
                            CLI::AppFormatMode /*mode*/) const {
  std::string out = "Usage: " + usage_of(*app) + "\n\n";
  append_wrapped(sentence_of(*app), 0, out);
  const auto commands = commands_of(*app);
  if (!commands.empty()) out += "\nCommands:\n";
  for (const CLI::App* each : commands) {
    append_entry(each->get_name(), sentence_of(*each), out);
  }
  append_options("Arguments", arguments_of(*app), out);
  append_options("Options", options_of(*app), out);
  if (!app->get_footer().empty()) out += '\n' + app->get_footer() + '\n';
  return out;
}

}  // namespace stationer::admin
