#include "fs/settings_table.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/account.h"

namespace stationer::fs {
namespace {

constexpr std::size_t longest_text = 200;

}  // namespace

Result<toml::table> parse_settings(std::string_view text, std::string_view file) {
  try {
    return toml::parse(text, file);
  } catch (const toml::parse_error& error) {
    return Error{Code::bad_input, fmt::format("{}, line {}: {}.", file, error.source().begin.line,
                                              error.description())};
  }
}

Error wrong_setting(const toml::node& node, std::string_view what) {
  const toml::source_region& place = node.source();
  return {Code::bad_input, fmt::format("{}, line {}: {}", place.path ? *place.path : "volume.toml",
                                       place.begin.line, what)};
}

Result<const toml::table*> settings_table(const toml::table& settings, std::string_view name) {
  static const toml::table none;
  const toml::node* node = settings.get(name);
  if (node == nullptr) return &none;
  if (const toml::table* table = node->as_table()) return table;
  return wrong_setting(
      *node, fmt::format("write [{}] on a line of its own, and its settings below.", name));
}

Status check_keys(const toml::table& table, std::string_view name,
                  const std::vector<std::string_view>& known) {
  for (const auto& [key, node] : table) {
    if (std::find(known.begin(), known.end(), key.str()) == known.end()) {
      return wrong_setting(node, fmt::format("there is no setting \"{}\" in [{}]; there are: {}.",
                                             key.str(), name, fmt::join(known, ", ")));
    }
  }
  return {};
}

Result<std::int64_t> number_setting(const toml::table& table, std::string_view key,
                                    std::int64_t otherwise, std::int64_t least, std::int64_t most) {
  const toml::node* node = table.get(key);
  if (node == nullptr) return otherwise;
  const auto* number = node->as_integer();
  if (number == nullptr || number->get() < least || number->get() > most) {
    return wrong_setting(*node,
                         fmt::format("{} must be a whole number from {} to {}.", key, least, most));
  }
  return number->get();
}

Result<std::string> text_setting(const toml::table& table, std::string_view key,
                                 std::string_view otherwise) {
  const toml::node* node = table.get(key);
  if (node == nullptr) return std::string(otherwise);
  const auto* text = node->as_string();
  if (text == nullptr)
    return wrong_setting(*node, fmt::format("{} must be a text in quotes.", key));
  if (auto fine = check_line(text->get(), longest_text, key); !fine) {
    return wrong_setting(*node, fine.error().message);
  }
  return text->get();
}

Result<bool> switch_setting(const toml::table& table, std::string_view key, bool otherwise) {
  const toml::node* node = table.get(key);
  if (node == nullptr) return otherwise;
  const auto* value = node->as_boolean();
  if (value == nullptr) return wrong_setting(*node, fmt::format("{} must be true or false.", key));
  return value->get();
}

}  // namespace stationer::fs
