// The manual page, in man(7)'s macros, made of the same tree of commands that --help shows.
// Sections as in man-pages(7).
#pragma once

#include <string>

#include <CLI/App.hpp>

namespace stationer::admin {

std::string manual_page(const CLI::App& app);

}  // namespace stationer::admin
