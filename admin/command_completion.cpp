// stationer completion
#include <iostream>
#include <memory>

#include "admin/command.h"
#include "admin/completion.h"
#include "fs/text.h"

namespace stationer::admin {

void add_completion_command(CLI::App& app, Program& program) {
  const auto shell = std::make_shared<std::string>();
  CLI::App& command = add_command(app, "completion",
                                  "Write what lets a shell complete command lines of this program",
                                  "stationer completion bash > /etc/bash_completion.d/stationer");
  add_argument(command, "SHELL", *shell, "bash (also for zsh, after bashcompinit), or fish")
      ->check(one_of({"bash", "fish"}))
      ->type_name("bash|fish");
  run(command, program, [&app, shell]() -> fs::Status {
    std::cout << (fs::ascii_lower(*shell) == "fish" ? fish_completion(app) : bash_completion(app));
    return {};
  });
}

}  // namespace stationer::admin
