#include "admin/program.h"

#include <exception>
#include <iostream>

#include "admin/help.h"
#include "admin/wrong_usage.h"

namespace stationer::admin {
namespace {

// The command as far as the command line was understood.
const CLI::App& command_so_far(const CLI::App& app) {
  const auto below = app.get_subcommands();
  return below.empty() ? app : command_so_far(*below.front());
}

int wrong_usage(const CLI::App& app, const CLI::Error& error) {
  const CLI::App& command = command_so_far(app);
  if (!commands_of(command).empty() && app.remaining(true).empty()) {
    // Nothing is wrong yet: here is how it goes on.
    std::cerr << command.help();
    return exit_wrong_usage;
  }
  complain(why_wrong(app, command, error));
  std::cerr << "Usage: " << usage_of(command) << "\nMore of it with: " << path_of(command)
            << " --help\n";
  return exit_wrong_usage;
}

int act(const Program& program) {
  const fs::Status done = program.chosen();
  if (!done) {
    complain(done.error().message);
    return exit_failed;
  }
  if (!std::cout.flush()) {
    complain("What was to be said could not be written to standard output.");
    return exit_failed;
  }
  return exit_done;
}

}  // namespace

void add_commands(CLI::App& app, Program& program) {
  app.description("Storage, printing and care for a room of vintage machines");
  app.formatter(std::make_shared<Help>());
  app.set_help_flag("-h,--help", "Show how it is used");
  app.set_version_flag("--version", "stationer " STATIONER_VERSION, "Say which version this is");
  app.footer("More of each:\n  stationer COMMAND --help");
  app.require_subcommand(1);
  add_volume_option(app, program);
  add_init_command(app, program);
  add_serve_command(app, program);
  add_status_command(app, program);
  add_console_command(app, program);
  add_account_commands(app, program);
  add_class_commands(app, program);
  add_hand_in_commands(app, program);
  add_year_commands(app, program);
  add_file_commands(app, program);
  add_queue_commands(app, program);
  add_printer_commands(app, program);
  add_printout_commands(app, program);
  add_station_commands(app, program);
  add_line_commands(app, program);
  add_notice_commands(app, program);
  add_journal_command(app, program);
  add_why_command(app, program);
  add_report_command(app, program);
  add_check_command(app, program);
  add_adopt_command(app, program);
  add_snapshot_commands(app, program);
  add_plan_commands(app, program);
  add_cards_command(app, program);
  add_pdf_command(app, program);
  add_completion_command(app, program);
  add_manual_command(app, program);  // it has a page of each of them
}

int run_program(int argc, const char* const* argv) {
  Program program;
  CLI::App app("", "stationer");
  try {
    add_commands(app, program);
    app.parse(argc, argv);
    return act(program);
  } catch (const CLI::Success& help) {  // --help and --version
    app.exit(help);
    return std::cout.flush() ? exit_done : exit_failed;
  } catch (const CLI::Error& error) {
    return wrong_usage(app, error);
  } catch (const std::exception& fault) {
    complain(std::string("There is a fault in the program: ") + fault.what() +
             ". Please report it.");
    return exit_failed;
  }
}

}  // namespace stationer::admin
