// stationer console
#include "admin/command.h"
#include "admin/console/run.h"
#include "fs/host_files.h"

namespace stationer::admin {

void add_console_command(CLI::App& app, Program& program) {
  CLI::App& command = add_command(
      app, "console",
      "Watch and run the room on a whole screen: stations, print jobs, people, files, the journal. "
      "It shows every key that works",
      "stationer console");
  add_volume_option(command, program);
  run(command, program, [&program]() -> fs::Status {
    const std::string directory = volume_directory(program);
    // That there is a volume is said here, where it is known where its name came from.
    if (auto there = open_channel(program); !there) return there.error();
    return console::run_console(directory);
  });
}

}  // namespace stationer::admin
