// What the commands have in common. The tree of commands is CLI11's, and both --help and the manual
// page come of it. Each group of commands has a file of its own, with one function that adds it;
// admin/program.cpp lists those functions.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>
#include <fmt/format.h>

#include "admin/channel.h"
#include "admin/report.h"
#include "fs/result.h"

namespace stationer::admin {

// One reading of a command line.
struct Program {
  std::string volume;                  // as --volume says; see open_channel()
  std::function<fs::Status()> chosen;  // what the command line asks for
};

// The exit statuses.
inline constexpr int exit_done = 0;
inline constexpr int exit_failed = 1;
inline constexpr int exit_wrong_usage = 2;

// A group of commands ("account"), which does nothing by itself.
CLI::App& add_group(CLI::App& parent, const std::string& name, const std::string& what);

// A command. `example` is shown with its help: one command line or several.
CLI::App& add_command(CLI::App& parent, const std::string& name, const std::string& what,
                      const std::string& example);

// What is named by its place. A vector takes several.
template <class Value>
CLI::Option* add_argument(CLI::App& command, const char* name, Value& value,
                          const std::string& what) {
  return command.add_option(name, value, what)->required()->type_name("");
}

// What the value of an option has to be, said in our words. Capitals do not count in choices.
CLI::Validator one_of(std::vector<std::string> choices);
CLI::Validator whole_number(std::uint64_t least, std::uint64_t most);
CLI::Validator not_empty();

// What a command does when it was named. The second form gives it --volume and the way there.
void run(CLI::App& command, Program& program, std::function<fs::Status()> act);
void run(CLI::App& command, Program& program, std::function<fs::Status(Channel&)> act);
void add_volume_option(CLI::App& command, Program& program);
void add_json_option(CLI::App& command, bool& json);

// The volume that --volume or STATIONER_VOLUME names, and the way to it; WrongUsage when neither
// does.
bool names_volume(const Program& program);
std::string volume_directory(const Program& program);
fs::Result<std::unique_ptr<Channel>> open_channel(const Program& program, bool accept_loss = false);

// Thrown for what the table of options can't say; ends with exit_wrong_usage.
class WrongUsage : public CLI::ValidationError {
 public:
  explicit WrongUsage(const std::string& what) : CLI::ValidationError(what) {}
};

// Passwords are never on a command line: they come from a prompt, or from standard input.
struct PasswordOptions {
  bool ask = false;
  bool standard_input = false;

  bool given() const { return ask || standard_input; }
};
void add_password_options(CLI::App& command, PasswordOptions& options);
// Asks twice, or reads one line. Code::denied when there is no terminal to ask on.
fs::Result<std::string> new_password(const PasswordOptions& options, std::string_view whose);

// Puts an answer where an error went: done, or why not.
template <class T>
fs::Status status_of(const fs::Result<T>& result) {
  if (!result) return result.error();
  return {};
}

// "robin: why not", or only why not where that names them.
std::string about(std::string_view item, const std::string& why);

// Does `act` for each. All are tried; when there are several, what failed is said at once on
// standard error, with its name unless the reason tells it, and what comes back says how many did.
template <class Item, class Act>
fs::Status for_each(const std::vector<Item>& items, const Act& act) {
  if (items.size() == 1) return act(items.front());
  std::size_t failures = 0;
  for (const Item& item : items) {
    if (const fs::Status done = act(item); !done) {
      ++failures;
      complain(about(fmt::format("{}", item), done.error().message));
    }
  }
  if (failures == 0) return {};
  return fs::Error{fs::Code::bad_input,
                   fmt::format("{} of {} could not be done; see above.", failures, items.size())};
}

// A command that gives each of several things, named one after the other, to one method.
struct ForEach {
  const char* name;     // of the command
  const char* what;     // it does
  const char* example;  // see add_command()
  const char* things;   // as they stand on the command line: "NAME"
  const char* which;    // they are
  const char* method;
  const char* key;  // the method's parameter
};
template <class Item>
void add_for_each(CLI::App& group, Program& program, const ForEach& each) {
  const auto items = std::make_shared<std::vector<Item>>();
  CLI::App& command = add_command(group, each.name, each.what, each.example);
  add_argument(command, each.things, *items, each.which);
  run(command, program, [items, method = each.method, key = each.key](Channel& channel) {
    return for_each(*items, [&](const Item& item) {
      return status_of(channel.call(method, {{key, item}}));
    });
  });
}

void add_account_commands(CLI::App& app, Program& program);
void add_adopt_command(CLI::App& app, Program& program);
void add_cards_command(CLI::App& app, Program& program);
void add_check_command(CLI::App& app, Program& program);
void add_class_commands(CLI::App& app, Program& program);
void add_completion_command(CLI::App& app, Program& program);
void add_console_command(CLI::App& app, Program& program);
void add_file_commands(CLI::App& app, Program& program);
void add_hand_in_commands(CLI::App& app, Program& program);
void add_import_command(CLI::App& account, Program& program);
void add_init_command(CLI::App& app, Program& program);
void add_journal_command(CLI::App& app, Program& program);
void add_leaver_commands(CLI::App& account, Program& program);
void add_history_commands(CLI::App& file, Program& program);
void add_line_commands(CLI::App& app, Program& program);
void add_manual_command(CLI::App& app, Program& program);
void add_notice_commands(CLI::App& app, Program& program);
void add_pdf_command(CLI::App& app, Program& program);
void add_plan_commands(CLI::App& app, Program& program);
void add_printer_commands(CLI::App& app, Program& program);
void add_printout_commands(CLI::App& app, Program& program);
void add_queue_commands(CLI::App& app, Program& program);
void add_report_command(CLI::App& app, Program& program);
void add_serve_command(CLI::App& app, Program& program);
void add_snapshot_commands(CLI::App& app, Program& program);
void add_station_commands(CLI::App& app, Program& program);
void add_status_command(CLI::App& app, Program& program);
void add_why_command(CLI::App& app, Program& program);
void add_year_commands(CLI::App& app, Program& program);

}  // namespace stationer::admin
