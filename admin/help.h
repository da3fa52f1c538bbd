// How the tree of commands is shown to people: --help, and what the manual page shares with it.
#pragma once

#include <string>
#include <vector>

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>

namespace stationer::admin {

std::vector<const CLI::App*> commands_of(const CLI::App& app);
std::vector<const CLI::Option*> arguments_of(const CLI::App& command);  // named by their place
std::vector<const CLI::Option*> options_of(const CLI::App& command);

// "NAME...", "[FILE]", "--role member|leader|manager", "-h, --help": an argument or option as it is
// typed.
std::string as_typed(const CLI::Option& option);

// What it does, as a sentence, with the value it has when it is not given.
std::string sentence_of(const CLI::Option& option);
std::string sentence_of(const CLI::App& command);

// "stationer account add".
std::string path_of(const CLI::App& app);

// "stationer account add NAME... [options]".
std::string usage_of(const CLI::App& command);

class Help : public CLI::FormatterBase {
 public:
  static constexpr int width = 79;  // columns
  std::string make_help(const CLI::App* app, std::string name,
                        CLI::AppFormatMode mode) const override;
};

}  // namespace stationer::admin
