// The manual page: complete, and roff that the typesetter has nothing to say about.
#include "admin/manual.h"

#include <cstdlib>
#include <fstream>

#include <catch2/catch.hpp>

#include "tests/admin/process.h"
#include "tests/admin/tree.h"

using namespace stationer;
using namespace stationer::admin;
using test::Tree;

namespace {

// As roff writes it: a dash that is typed is \-, a quote in a macro's argument is doubled.
std::string in_roff(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == '-') out += '\\';
    out += c;
    if (c == '"') out += c;
  }
  return out;
}

std::string content_of(const std::string& path) {
  std::ifstream in(path);
  return {std::istreambuf_iterator<char>(in), {}};
}

bool is_installed(const std::string& tool) {
  return std::system(("command -v " + tool + " >/dev/null 2>&1").c_str()) == 0;
}

}  // namespace

TEST_CASE("the manual holds every command, argument, option and example") {
  const Tree tree;
  const std::string page = manual_page(tree.app);
  const auto holds = [&](const std::string& text) {
    INFO(text);
    CHECK(page.find(text) != std::string::npos);
  };
  for (const CLI::App* command : tree.commands()) {
    holds(in_roff(usage_of(*command)));
    for (const CLI::Option* option : command->get_options()) {
      // Those that most commands have are told of once.
      if (option->check_lname("help")) {
        holds(".B \\-h, \\-\\-help");
      } else if (option->check_lname("volume")) {
        holds(".BI \"\\-\\-volume \" DIRECTORY");
      } else {
        holds(in_roff(as_typed(*option)));
      }
    }
    for (const std::string& example : test::examples_of(*command)) {
      std::string typed = example;
      for (std::size_t at = 0; (at = typed.find('-', at)) != std::string::npos; at += 2) {
        typed.insert(at, "\\");
      }
      holds('\n' + typed + '\n');
    }
  }
}

TEST_CASE("the manual has the sections of man-pages(7), in their order") {
  const Tree tree;
  const std::string page = manual_page(tree.app);
  CHECK(page.starts_with(".TH STATIONER 1 "));
  std::size_t at = 0;
  for (const char* section : {"NAME", "SYNOPSIS", "DESCRIPTION", "OPTIONS", "COMMANDS",
                              "EXIT STATUS", "ENVIRONMENT", "FILES", "EXAMPLES"}) {
    INFO(section);
    const auto found = page.find(std::string("\n.SH ") + section + '\n', at);
    REQUIRE(found != std::string::npos);
    at = found;
  }
  CHECK(page.find("\n.B 2\nThe command line is wrong.\n") != std::string::npos);
  CHECK(page.find("STATIONER_VOLUME") != std::string::npos);
}

TEST_CASE("the program writes the manual, and groff warns of nothing in it") {
  const test::Keeper keeper;
  const std::string page = keeper.done("manual");
  const Tree tree;
  CHECK(page == manual_page(tree.app));
  if (!is_installed("groff")) {
    WARN("groff is not installed: the page was not set.");
    return;
  }
  keeper.write("stationer.1", page);
  const std::string set =
      "cd '" + (keeper / ".") + "' && groff -ww -man -Tutf8 -P-cbou stationer.1";
  REQUIRE(std::system((set + " >set 2>warnings").c_str()) == 0);
  CHECK(keeper.read("warnings").empty());
  const std::string text = content_of(keeper / "set");
  CHECK(text.find("EXIT STATUS") != std::string::npos);
  CHECK(text.find("--password-stdin") != std::string::npos);
  // No dash that is typed became a hyphen, which could not be copied.
  CHECK(text.find("stationer account add robin wren --class evening") != std::string::npos);
}
