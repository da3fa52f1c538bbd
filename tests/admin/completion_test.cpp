// Completion, as a shell does it.
#include "admin/completion.h"

#include <algorithm>
#include <cstdlib>
#include <set>
#include <sstream>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "tests/admin/process.h"
#include "tests/admin/tree.h"

using namespace stationer;
using namespace stationer::admin;
using test::Keeper;
using test::Tree;

namespace {

// What bash offers after each of these lines, the last word of which is being typed; a line each.
std::vector<std::string> offered(const Keeper& keeper, const std::vector<std::string>& lines) {
  std::string script = bash_completion(Tree().app);
  for (const auto& line : lines) {
    std::string words;
    int count = 0;
    std::istringstream typed(line);
    for (std::string word; std::getline(typed, word, ' ');) {
      words += fmt::format(" '{}'", word);
      ++count;
    }
    if (line.ends_with(' ')) {
      words += " ''";
      ++count;
    }
    script += fmt::format(
        "COMP_WORDS=({}); COMP_CWORD={}; COMPREPLY=(); _stationer; echo \"${{COMPREPLY[*]}}\"\n",
        words, count - 1);
  }
  keeper.write("script", script);
  REQUIRE(std::system(fmt::format("cd '{}' && bash script >out 2>err", keeper / ".").c_str()) == 0);
  CHECK(keeper.read("err").empty());
  std::vector<std::string> out;
  std::istringstream said(keeper.read("out"));
  for (std::string line; std::getline(said, line);) out.push_back(line);
  REQUIRE(out.size() == lines.size());
  return out;
}

}  // namespace

TEST_CASE("bash completes every command and every option that there is") {
  const Keeper keeper;
  const Tree tree;
  std::vector<std::string> lines;
  std::vector<std::string> expected;
  for (const CLI::App* command : tree.all()) {
    std::string names;
    for (const CLI::App* below : commands_of(*command)) {
      names += (names.empty() ? "" : " ") + below->get_name();
    }
    if (!names.empty()) {
      lines.push_back(path_of(*command) + ' ');
      expected.push_back(names);
    }
    for (const CLI::Option* option : options_of(*command)) {
      for (const auto& name : option->get_lnames()) {
        lines.push_back(path_of(*command) + " --" + name);
        expected.push_back("--" + name);
      }
    }
  }
  const auto given = offered(keeper, lines);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    INFO(lines[i] << ": " << given[i]);
    // What begins with the same letters is offered, too.
    CHECK((' ' + given[i] + ' ').find(' ' + expected[i] + ' ') != std::string::npos);
  }
}

TEST_CASE("bash completes what options may be, and files where they are meant") {
  const Keeper keeper;
  keeper.write("letter", "");
  const auto given =
      offered(keeper, {"stationer ac", "stationer account change robin --role ",
                       "stationer account change robin --role le", "stationer --volume let",
                       "stationer --volume account cl", "stationer account quota robin --mib ",
                       "stationer file put le", "stationer account close le",
                       "stationer account open account ", "stationer manual se",
                       "stationer manual account --", "stationer completion "});
  CHECK(given[0] == "account");
  CHECK(given[1] == "member leader manager");
  CHECK(given[2] == "leader");
  CHECK(given[3] == "letter");
  CHECK(given[4] == "class");  // the word before was the volume
  CHECK(given[5].empty());
  CHECK(given[6] == "letter");
  CHECK(given[7].empty());
  CHECK(given[8].empty());
  CHECK(given[9] == "serve settings");
  CHECK(given[10].find("--help") != std::string::npos);
  CHECK(given[11] == "bash fish");
}

TEST_CASE("fish is told of every command with what it does") {
  const Tree tree;
  const std::string script = fish_completion(tree.app);
  for (const CLI::App* command : tree.all()) {
    for (const CLI::App* below : commands_of(*command)) {
      INFO(path_of(*below));
      CHECK(script.find("-a " + below->get_name() + " -d '") != std::string::npos);
    }
  }
  CHECK(script.find("__fish_seen_subcommand_from account; and __fish_seen_subcommand_from change' "
                    "-l role -x -a 'member leader manager'") != std::string::npos);
  CHECK(script.find("-n '__fish_seen_subcommand_from completion' -a 'bash fish'\n") !=
        std::string::npos);
  CHECK(script.find("-n '__fish_seen_subcommand_from manual' -a 'init serve ") !=
        std::string::npos);
}
