// stationer manual
#include <iostream>

#include "admin/command.h"
#include "admin/manual.h"

namespace stationer::admin {

void add_manual_command(CLI::App& app, Program& program) {
  CLI::App& command = add_command(app, "manual", "Write the manual page, for man(1) to show",
                                  "stationer manual > stationer.1");
  run(command, program, [&app]() -> fs::Status {
    std::cout << manual_page(app);
    return {};
  });
}

}  // namespace stationer::admin
