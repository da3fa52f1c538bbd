// Completion of command lines for shells, made from the tree of commands: commands, options, and
// the choices of options and arguments that have some.
#pragma once

#include <string>

#include <CLI/App.hpp>

namespace stationer::admin {

// A script for bash (zsh reads it after bashcompinit), and one for fish.
std::string bash_completion(const CLI::App& app);
std::string fish_completion(const CLI::App& app);

}  // namespace stationer::admin
