// The `stationer` program as a function of its command line.
#pragma once

#include <CLI/App.hpp>

#include "admin/command.h"

namespace stationer::admin {

// Adds every command there is. `program` and `app` must stay where they are.
void add_commands(CLI::App& app, Program& program);

// What main() does; the result is the exit status. Output goes to standard output, complaints to
// standard error.
int run_program(int argc, const char* const* argv);

}  // namespace stationer::admin
