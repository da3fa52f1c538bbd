// What is wrong with a command line, in words for the person who typed it.
#pragma once

#include <string>

#include <CLI/App.hpp>
#include <CLI/Config.hpp>
#include <CLI/Formatter.hpp>

namespace stationer::admin {

// `app` is the program, `command` as far as the command line was understood, `error` what CLI11
// makes of it. A whole sentence.
std::string why_wrong(const CLI::App& app, const CLI::App& command, const CLI::Error& error);

}  // namespace stationer::admin
