// --help, which people read before anything else.
#include "admin/help.h"

#include <set>
#include <sstream>

#include <catch2/catch.hpp>

#include "tests/admin/process.h"
#include "tests/admin/tree.h"

using namespace stationer;
using namespace stationer::admin;
using test::Tree;

TEST_CASE("the help of every command fits a narrow terminal and says all there is") {
  const Tree tree;
  for (const CLI::App* command : tree.all()) {
    const std::string help = command->help();
    INFO(help);
    std::istringstream lines(help);
    for (std::string line; std::getline(lines, line);) {
      CHECK(line.size() <= Help::width);
      CHECK_FALSE(line.ends_with(' '));
    }
    CHECK(help.starts_with("Usage: " + path_of(*command)));
    CHECK(help.find("-h, --help") != std::string::npos);
    for (const CLI::App* below : commands_of(*command)) {
      CHECK(help.find("\n  " + below->get_name() + ' ') != std::string::npos);
    }
    for (const CLI::Option* option : command->get_options()) {
      CHECK(help.find("\n  " + as_typed(*option)) != std::string::npos);
      CHECK_FALSE(option->get_description().empty());
      CHECK(sentence_of(*option).ends_with('.'));
    }
  }
}

TEST_CASE("every command has an example, and every example is right") {
  const Tree tree;
  std::set<std::string> examples;
  for (const CLI::App* command : tree.commands()) {
    INFO(path_of(*command));
    const auto lines = test::examples_of(*command);
    CHECK_FALSE(lines.empty());
    for (const std::string& line : lines) {
      INFO(line);
      CHECK(examples.insert(line).second);
      CHECK(line.starts_with(path_of(*command)));
      Tree fresh;
      CHECK_NOTHROW(fresh.parse(test::words_of(line)));
      CHECK(fresh.program.chosen);
    }
  }
}

TEST_CASE("groups say how to hear more of what is in them") {
  const Tree tree;
  for (const CLI::App* group : tree.all()) {
    if (commands_of(*group).empty()) continue;
    INFO(group->help());
    CHECK(group->help().ends_with("\n  " + path_of(*group) + " COMMAND --help\n"));
  }
}

TEST_CASE("options and arguments are shown as they are typed") {
  const Tree tree;
  const CLI::App* add = tree.app.get_subcommand("account")->get_subcommand("add");
  CHECK(usage_of(*add) == "stationer account add NAME... [options]");
  CHECK(as_typed(*add->get_option("--role")) == "--role member|leader|manager");
  CHECK(as_typed(*add->get_option("--ask-password")) == "--ask-password");
  CHECK(as_typed(*add->get_option("--help")) == "-h, --help");
  const CLI::App* get = tree.app.get_subcommand("file")->get_subcommand("get");
  CHECK(usage_of(*get) == "stationer file get PATH [FILE] [options]");
  CHECK(usage_of(tree.app) == "stationer COMMAND ...");
  const CLI::App* journal = tree.app.get_subcommand("journal");
  CHECK(sentence_of(*journal->get_option("--count")) ==
        "How many entries at most; 50 if not given.");
}

TEST_CASE("invariant 8: no option takes a password") {
  const Tree tree;
  for (const CLI::App* command : tree.all()) {
    for (const CLI::Option* option : options_of(*command)) {
      if (option->get_name().find("password") == std::string::npos) continue;
      INFO(as_typed(*option));
      CHECK(as_typed(*option).find(' ') == std::string::npos);
    }
  }
}
