// stationer manual
#include <iostream>
#include <memory>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/help.h"
#include "admin/manual.h"
#include "admin/settings_manual.h"
#include "fs/text.h"

namespace stationer::admin {
namespace {

constexpr const char* settings = "settings";

fs::Status say_page(const CLI::App& app, const std::string& name) {
  if (name.empty()) {
    std::cout << manual_page(app);
  } else if (name == settings) {
    std::cout << settings_manual_page();
  } else {
    std::cout << manual_page_of(*app.get_subcommand(name));
  }
  return {};
}

}  // namespace

void add_manual_command(CLI::App& app, Program& program) {
  const auto name = std::make_shared<std::string>();
  CLI::App& command = add_command(app, "manual", "Write a page of the manual, for man -l - to show",
                                  "stationer manual > stationer.1\n  stationer manual account > "
                                  "stationer-account.1\n  stationer "
                                  "manual settings > stationer-volume.5");
  std::vector<std::string> pages;
  for (const CLI::App* each : commands_of(app)) pages.push_back(each->get_name());
  pages.emplace_back(settings);
  add_argument(command, "PAGE", *name,
               "A command that stands behind stationer, or settings, for what volume.toml may say; "
               "without it, the overview")
      ->required(false)
      ->check(one_of(pages))
      ->type_name(fmt::format("{}", fmt::join(pages, "|")));
  run(command, program, [&app, name] { return say_page(app, fs::ascii_lower(*name)); });
}

}  // namespace stationer::admin
