// The real programs that people will open printouts with, as checkers.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace stationer::test {

// Whether the program is installed.
bool have(const std::string& program);

struct Ran {
  int exit = 0;
  std::string out;  // standard output and standard error
};

// Runs a shell command line; "%" stands for a file that holds `contents`.
Ran run_on(std::string_view contents, const std::string& command);

// Text of a PDF by columns of `points` width, by page and line, blanks at the ends dropped.
std::vector<std::vector<std::string>> columns_of(std::string_view pdf, const std::string& points);

}  // namespace stationer::test
