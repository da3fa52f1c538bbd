#include "admin/wrong_usage.h"

#include <algorithm>
#include <string_view>
#include <vector>

#include <fmt/format.h>

#include "admin/command.h"
#include "admin/help.h"
#include "fs/text.h"

namespace stationer::admin {
namespace {

constexpr std::size_t longest_shown = 60;  // bytes of what was typed

// The parts of "--owner excludes --unclaimed"; what CLI11 has to say is only to be had as text.
struct Halves {
  std::string left;
  std::string right;
};
Halves around(const std::string& text, std::string_view between) {
  const auto at = text.find(between);
  if (at == std::string::npos) return {text, ""};
  return {text.substr(0, at), text.substr(at + between.size())};
}

// What nobody asked for, options first: they are what the rest came of.
std::string unexpected(const CLI::App& app) {
  const std::vector<std::string> words = app.remaining(true);
  if (words.empty()) return "";
  const auto option = std::find_if(words.begin(), words.end(),
                                   [](const std::string& word) { return word.starts_with('-'); });
  return option == words.end() ? words.front() : *option;
}

std::string about_unexpected(const CLI::App& command, const std::string& word) {
  const std::string_view shown = fs::clip(word, longest_shown);
  const auto commands = commands_of(command);
  if (word.starts_with("--")) return fmt::format("There is no option {} here.", shown);
  if (word.starts_with('-')) {
    return fmt::format(
        "There is no option {} here. If it is meant as something else, put it last, behind --.",
        shown);
  }
  if (commands.empty()) {
    return fmt::format("\"{}\" is one word too many. A name with spaces in it needs quotes.",
                       shown);
  }
  std::vector<std::string> names;
  for (const CLI::App* each : commands) names.push_back(each->get_name());
  return fmt::format("There is no command {}. There are: {}.", shown, fmt::join(names, ", "));
}

// "--name" and "--name TEXT".
std::string with_its_value(const CLI::App& command, const std::string& name) {
  const CLI::Option* option = command.get_option_no_throw(name);
  return option == nullptr ? name : as_typed(*option);
}

}  // namespace

std::string why_wrong(const CLI::App& app, const CLI::App& command, const CLI::Error& error) {
  const std::string text = error.what();
  if (dynamic_cast<const WrongUsage*>(&error) != nullptr) return text;
  const std::string word = unexpected(app);
  if (dynamic_cast<const CLI::ExtrasError*>(&error) != nullptr || word.starts_with('-') ||
      (!commands_of(command).empty() && !word.empty())) {
    return about_unexpected(command, word);
  }
  if (dynamic_cast<const CLI::RequiredError*>(&error) != nullptr) {
    if (!commands_of(command).empty()) return "Say which command.";
    return fmt::format("{} is missing.", around(text, " is required").left);
  }
  if (dynamic_cast<const CLI::RequiresError*>(&error) != nullptr) {
    const auto [one, other] = around(text, " requires ");
    return fmt::format("{} goes only with {}.", one, with_its_value(command, other));
  }
  if (dynamic_cast<const CLI::ExcludesError*>(&error) != nullptr) {
    const auto [one, other] = around(text, " excludes ");
    return fmt::format("{} and {} don't go together.", one, other);
  }
  if (dynamic_cast<const CLI::ConversionError*>(&error) != nullptr) {
    const auto [name, value] = around(around(text, "Could not convert: ").right, " = ");
    return fmt::format("{} has to be a whole number, and \"{}\" is none, or too large a one.", name,
                       fs::clip(value, longest_shown));
  }
  const auto [name, rest] = around(text, ": ");
  if (dynamic_cast<const CLI::ArgumentMismatch*>(&error) != nullptr) {
    if (rest.ends_with("missing")) {
      return fmt::format("{} needs something after it: {}.", name, with_its_value(command, name));
    }
    if (rest.starts_with("At Most")) return fmt::format("{} was given more than once.", name);
  }
  if (dynamic_cast<const CLI::ValidationError*>(&error) != nullptr) return name + ' ' + rest;
  return text;
}

}  // namespace stationer::admin
