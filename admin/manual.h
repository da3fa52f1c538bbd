// The manual of the commands, in man(7)'s macros, made of the same tree that --help shows: a page
// for the whole program and one for each group of commands, or command, that stands behind its
// name. Sections as in man-pages(7). The page about settings is admin/settings_manual.h's.
#pragma once

#include <string>
#include <vector>

#include <CLI/App.hpp>

namespace stationer::admin {

// stationer(1).
std::string manual_page(const CLI::App& app);

// stationer-account(1); `command` is one of those of the program.
std::string manual_page_of(const CLI::App& command);

// What a newcomer types, on stationer(1).
struct FirstStep {
  std::string line;
  std::string why;
};
std::vector<FirstStep> first_steps();

}  // namespace stationer::admin
