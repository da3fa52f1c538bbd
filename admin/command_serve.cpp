// stationer serve
#include <iostream>

#include "admin/command.h"
#include "admin/host.h"
#include "server/daemon.h"

namespace stationer::admin {

void add_serve_command(CLI::App& app, Program& program) {
  CLI::App& command = add_command(
      app, "serve",
      "Open the volume's doors and serve the room until told to stop (Ctrl-C, or SIGTERM). Says "
      "\"door NAME ADDRESS PORT\" for each open door, then \"ready\"",
      "stationer serve --volume /srv/mill");
  add_volume_option(command, program);
  run(command, program, [&program]() -> fs::Status {
    const std::string volume = volume_directory(program);
    if (auto fine = work_as_owner(volume); !fine) return fine;
    return server::serve(volume, [](const std::string& line) {
      say(line);
      std::cout.flush();  // whoever started the service waits for these lines
    });
  });
}

}  // namespace stationer::admin
