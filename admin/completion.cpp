#include "admin/completion.h"

#include <algorithm>
#include <string_view>
#include <vector>

#include <fmt/format.h>

#include "admin/help.h"

namespace stationer::admin {
namespace {

bool is_choice(std::string_view value) {
  return value.find('|') != std::string_view::npos;
}

// What stands for a value: "DIRECTORY", "member|leader|manager"; empty for a flag.
std::string value_of(const CLI::Option& option) {
  std::string type = option.get_type_name();  // behind a colon: what checks the value
  type.resize(std::min(type.size(), type.find(':')));
  if (option.get_positional()) return is_choice(type) ? type : option.get_name(true);
  return option.get_type_size() == 0 ? "" : type;
}

std::string choices(std::string value) {
  for (char& c : value) {
    if (c == '|') c = ' ';
  }
  return value;
}

// Names on the host, not in a volume.
bool is_host_file(std::string_view value) {
  return value == "FILE" || value == "DIRECTORY" || value == "INPUT" || value == "OUTPUT";
}

std::vector<std::string> names_of(const CLI::Option& option) {
  std::vector<std::string> names;
  for (const auto& name : option.get_snames()) names.push_back("-" + name);
  for (const auto& name : option.get_lnames()) names.push_back("--" + name);
  return names;
}

// "account add" of "stationer account add".
std::string below_program(const CLI::App& command) {
  const std::string path = path_of(command);
  const auto space = path.find(' ');
  return space == std::string::npos ? "" : path.substr(space + 1);
}

template <class Use>
void each_command(const CLI::App& app, const Use& use) {
  use(app);
  for (const CLI::App* each : commands_of(app)) each_command(*each, use);
}

// A line of a bash case: what may follow a path.
void append_words(const CLI::App& command, std::string& out) {
  std::string words;
  const auto add = [&](const std::string& word) { words += (words.empty() ? "" : " ") + word; };
  for (const CLI::App* each : commands_of(command)) add(each->get_name());
  for (const CLI::Option* option : options_of(command)) {
    for (const auto& name : names_of(*option)) add(name);
  }
  out += fmt::format("    '{}') words='{}' ;;\n", below_program(command), words);
}

// Lines for the values of its options, and for arguments that are files of the host's.
void append_values(const CLI::App& command, std::string& out) {
  const std::string path = below_program(command);
  for (const CLI::Option* option : options_of(command)) {
    const std::string value = value_of(*option);
    if (value.empty()) continue;
    std::string pattern;
    for (const auto& name : names_of(*option)) {
      pattern += fmt::format("{}'{} {}'", pattern.empty() ? "" : " | ", path, name);
    }
    const std::string act = is_choice(value)      ? fmt::format("words='{}'", choices(value))
                            : is_host_file(value) ? "files=1"
                                                  : "words=";
    out += fmt::format("    {}) value=1 {} ;;\n", pattern, act);
  }
}

bool takes_files(const CLI::App& command) {
  for (const CLI::Option* argument : arguments_of(command)) {
    if (is_host_file(value_of(*argument))) return true;
  }
  return false;
}

// What its arguments may be, if that is known: "bash fish".
std::string argument_choices(const CLI::App& command) {
  std::string out;
  for (const CLI::Option* argument : arguments_of(command)) {
    const std::string value = value_of(*argument);
    if (is_choice(value)) out += (out.empty() ? "" : " ") + choices(value);
  }
  return out;
}

std::string in_single_quotes(std::string_view text) {
  std::string out = "'";
  for (const char c : text)
    out += c == '\'' || c == '\\' ? "\\" + std::string(1, c) : std::string(1, c);
  return out + "'";
}

}  // namespace

std::string bash_completion(const CLI::App& app) {
  std::string words;
  std::string values;
  std::string files;
  std::string arguments;
  each_command(app, [&](const CLI::App& command) {
    append_words(command, words);
    append_values(command, values);
    if (takes_files(command)) {
      files += fmt::format("{}'{}'", files.empty() ? "" : " | ", below_program(command));
    }
    if (const std::string words_here = argument_choices(command); !words_here.empty()) {
      arguments +=
          fmt::format("      '{}') words=\"$words {}\" ;;\n", below_program(command), words_here);
    }
  });
  return fmt::format(
      R"(# Completion of {0} for bash; for zsh after: autoload -U bashcompinit && bashcompinit
# What may follow a path of commands.
_{0}_words() {{
  words=
  case "$1" in
{1}  esac
}}
# What an option's value may be. value: it takes one; files: it names a file.
_{0}_value() {{
  value=
  files=
  case "$1" in
{2}  esac
}}
_{0}() {{
  local word words value files path= i=1 skip=
  while [ "$i" -lt "$COMP_CWORD" ]; do
    word=${{COMP_WORDS[i]}}
    i=$((i + 1))
    if [ -n "$skip" ]; then
      skip=
      continue
    fi
    _{0}_value "$path $word"
    case "$word" in
      -*) skip=$value ;;
      *)
        _{0}_words "$path"
        case " $words " in
          *" $word "*) path="${{path:+$path }}$word" ;;
        esac
        ;;
    esac
  done
  word=${{COMP_WORDS[COMP_CWORD]}}
  if [ -n "$skip" ]; then
    words=
    _{0}_value "$path ${{COMP_WORDS[COMP_CWORD - 1]}}"
  else
    _{0}_words "$path"
    files=
    case "$path" in
      {3}) files=1 ;;
    esac
    case "$path" in
{4}    esac
    case "$word" in
      -*) files= ;;
    esac
  fi
  # Options only where one was begun, so that commands stand out.
  case "$word" in
    -*) ;;
    *) words=$(printf '%s\n' $words | grep -v '^-') ;;
  esac
  COMPREPLY=($(compgen -W "$words" -- "$word"))
  if [ -n "$files" ]; then
    COMPREPLY+=($(compgen -f -- "$word"))
    compopt -o filenames 2>/dev/null
  fi
}}
complete -F _{0} {0}
)",
      app.get_name(), words, values, files.empty() ? "-" : files, arguments);
}

std::string fish_completion(const CLI::App& app) {
  const std::string name = app.get_name();
  std::string out = fmt::format("# Completion of {0} for fish.\ncomplete -c {0} -f\n", name);
  each_command(app, [&](const CLI::App& command) {
    const std::string path = below_program(command);
    std::string here;
    for (const CLI::App* each : commands_of(command)) here += ' ' + each->get_name();
    std::string condition;
    std::string_view rest = path;
    while (!rest.empty()) {
      const auto end = std::min(rest.find(' '), rest.size());
      condition += fmt::format("{}__fish_seen_subcommand_from {}",
                               condition.empty() ? "" : "; and ", rest.substr(0, end));
      rest.remove_prefix(std::min(end + 1, rest.size()));
    }
    const std::string seen = condition;
    if (!here.empty()) {
      condition += fmt::format("{}not __fish_seen_subcommand_from{}",
                               condition.empty() ? "" : "; and ", here);
    }
    const auto line = [&](const std::string& when, const std::string& what,
                          const std::string& sentence) {
      out += fmt::format("complete -c {} {}{} -d {}\n", name,
                         when.empty() ? "" : "-n " + in_single_quotes(when) + ' ', what,
                         in_single_quotes(sentence));
    };
    for (const CLI::App* each : commands_of(command)) {
      line(condition, "-a " + each->get_name(), sentence_of(*each));
    }
    for (const CLI::Option* option : options_of(command)) {
      std::string what;
      for (const auto& each : option->get_snames()) what += " -s " + each;
      for (const auto& each : option->get_lnames()) what += " -l " + each;
      const std::string value = value_of(*option);
      if (!value.empty()) what += is_host_file(value) ? " -r -F" : " -x";
      if (is_choice(value)) what += " -a " + in_single_quotes(choices(value));
      line(here.empty() ? seen : condition, what.substr(1), sentence_of(*option));
    }
    if (takes_files(command))
      out += fmt::format("complete -c {} -n {} -F\n", name, in_single_quotes(seen));
    if (const std::string words = argument_choices(command); !words.empty()) {
      out += fmt::format("complete -c {} -n {} -a {}\n", name, in_single_quotes(seen),
                         in_single_quotes(words));
    }
  });
  return out;
}

}  // namespace stationer::admin
