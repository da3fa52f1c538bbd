// The tree of commands as the program makes it, and what was said on standard output and error.
#pragma once

#include <iostream>
#include <sstream>
#include <string>
#include <vector>

#include "admin/help.h"
#include "admin/program.h"

namespace stationer::test {

struct Tree {
  admin::Program program;
  CLI::App app{"", "stationer"};

  Tree() { admin::add_commands(app, program); }

  // Every App there is, the program itself first.
  std::vector<const CLI::App*> all() const;
  // Those that do something.
  std::vector<const CLI::App*> commands() const;

  void parse(const std::vector<std::string>& words);
};

// The same, of one command: itself, or those below it.
std::vector<const CLI::App*> commands_below(const CLI::App& command);

// The lines of the example in a command's help.
std::vector<std::string> examples_of(const CLI::App& command);

// What the program says goes here while this lives.
class Overheard {
 public:
  Overheard()
      : out_before_(std::cout.rdbuf(out_.rdbuf())), err_before_(std::cerr.rdbuf(err_.rdbuf())) {}
  Overheard(const Overheard&) = delete;
  Overheard& operator=(const Overheard&) = delete;
  ~Overheard() {
    std::cout.rdbuf(out_before_);
    std::cerr.rdbuf(err_before_);
  }
  std::string out() const { return out_.str(); }
  std::string err() const { return err_.str(); }

 private:
  std::ostringstream out_;
  std::ostringstream err_;
  std::streambuf* out_before_;
  std::streambuf* err_before_;
};

}  // namespace stationer::test
