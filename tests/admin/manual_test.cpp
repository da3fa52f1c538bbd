// The manual's pages: complete, and roff that typesetters have nothing to say about.
#include "admin/manual.h"

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <sstream>

#include <catch2/catch.hpp>

#include "admin/settings_manual.h"
#include "fs/text.h"
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

// "stationer-account" and its page, for all there are.
std::vector<std::pair<std::string, std::string>> all_pages(const Tree& tree) {
  std::vector<std::pair<std::string, std::string>> out = {
      {"stationer", manual_page(tree.app)}, {std::string(settings_page), settings_manual_page()}};
  for (const CLI::App* top : commands_of(tree.app)) {
    out.emplace_back("stationer-" + top->get_name(), manual_page_of(*top));
  }
  return out;
}

}  // namespace

TEST_CASE("the manual's pages hold every command, argument, option and example") {
  const Tree tree;
  for (const CLI::App* top : commands_of(tree.app)) {
    const std::string page = manual_page_of(*top);
    const auto holds = [&](const std::string& text) {
      INFO(text);
      CHECK(page.find(text) != std::string::npos);
    };
    for (const CLI::App* command : test::commands_below(*top)) {
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
}

TEST_CASE("the overview names each page with a line, and the way for a newcomer") {
  const Tree tree;
  const std::string page = manual_page(tree.app);
  for (const CLI::App* top : commands_of(tree.app)) {
    INFO(top->get_name());
    std::string name = "stationer\\-";
    for (const char c : top->get_name()) name += c == '-' ? "\\-" : std::string(1, c);
    CHECK(page.find(".TP\n.BR " + name + " (1)\n") != std::string::npos);
    CHECK(page.find("\n.BR " + name + " (1),\n") != std::string::npos);
  }
  CHECK(page.find(".BR stationer\\-volume (5)\n") != std::string::npos);
  for (const FirstStep& step : first_steps()) {
    INFO(step.line);
    CHECK(page.find(in_roff(step.line)) != std::string::npos);
    Tree typed;
    CHECK_NOTHROW(typed.parse(test::words_of(step.line)));
  }
}

TEST_CASE("the manual's pages have the sections of man-pages(7), in their order") {
  const Tree tree;
  const std::vector<std::string> order = {"NAME",        "SYNOPSIS", "DESCRIPTION", "FIRST STEPS",
                                          "COMMANDS",    "SETTINGS", "OPTIONS",     "EXIT STATUS",
                                          "ENVIRONMENT", "FILES",    "EXAMPLES",    "SEE ALSO"};
  for (const auto& [name, page] : all_pages(tree)) {
    INFO(name);
    std::string title = ".TH ";
    for (const char c : name) title += c == '-' ? "\\-" : std::string(1, c);
    CHECK(fs::ascii_lower(page).starts_with(fs::ascii_lower(title) +
                                            (name.ends_with("volume") ? " 5 " : " 1 ")));
    std::size_t place = 0;
    std::size_t sections = 0;
    for (std::size_t at = 0; (at = page.find("\n.SH ", at)) != std::string::npos;) {
      at += 5;
      const std::string section = page.substr(at, page.find('\n', at) - at);
      INFO(section);
      const auto found = std::find(order.begin(), order.end(), section);
      REQUIRE(found != order.end());
      CHECK(static_cast<std::size_t>(found - order.begin()) >= place);
      place = static_cast<std::size_t>(found - order.begin());
      ++sections;
    }
    CHECK(sections >= 6);
    CHECK(place == order.size() - 1);
  }
}

TEST_CASE("the program writes the manual, page by page") {
  const test::Keeper keeper;
  const Tree tree;
  CHECK(keeper.done("manual") == manual_page(tree.app));
  CHECK(keeper.done("manual Account") == manual_page_of(*tree.app.get_subcommand("account")));
  const auto wrong = keeper.run("manual none");
  CHECK(wrong.status == 2);
  CHECK(wrong.err.find("settings") != std::string::npos);
}

TEST_CASE("groff and mandoc warn of nothing in the manual") {
  const test::Keeper keeper;
  const Tree tree;
  std::string names;
  for (const auto& [name, page] : all_pages(tree)) {
    names += ' ' + name + ".man";
    keeper.write(name + ".man", page);
  }
  const auto run = [&](const std::string& command) {
    return std::system(("cd '" + (keeper / ".") + "' && " + command).c_str());
  };
  if (is_installed("groff")) {
    // Each in a run of its own, as a reader's are, at the width of a terminal.
    REQUIRE(
        run("for each in" + names +
            "; do groff -ww -man -Tutf8 -P-cbou -rLL=80n $each >$each.text 2>>warnings || exit 1; "
            "done") == 0);
    CHECK(keeper.read("warnings").empty());
    const std::string text = content_of(keeper / "stationer-account.man.text");
    CHECK(text.find("EXIT STATUS") != std::string::npos);
    CHECK(text.find("--password-stdin") != std::string::npos);
    // No dash that is typed became a hyphen, which could not be copied.
    CHECK(text.find("stationer account add robin wren --class evening") != std::string::npos);
  } else {
    WARN("groff is not installed: the pages were not set.");
  }
  if (is_installed("mandoc")) {
    // It would have a date; there is none, so that the same program writes the same page.
    const int lint = run("mandoc -Tlint -W warning" + names + " >lint 2>&1");
    static_cast<void>(lint);
    std::string rest;
    std::istringstream lines(keeper.read("lint"));
    for (std::string line; std::getline(lines, line);) {
      if (line.find("missing date") == std::string::npos) rest += line + '\n';
    }
    CHECK(rest.empty());
  } else {
    WARN("mandoc is not installed: it was not asked.");
  }
}
