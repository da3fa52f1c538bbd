// Reading volume.toml, and what else is written in TOML: what every layer needs to check its tables
// of it, with the file and the line in each complaint.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include <toml++/toml.h>

#include "fs/result.h"

namespace stationer::fs {

// `file`: as complaints name it.
Result<toml::table> parse_settings(std::string_view text, std::string_view file = "volume.toml");

// "volume.toml, line 12: …"
Error wrong_setting(const toml::node& node, std::string_view what);

// The table called `name` in `settings`, which must outlive it; an empty one when it is not there.
Result<const toml::table*> settings_table(const toml::table& settings, std::string_view name);

// Refuses keys that are not among `known`, naming them and the table.
Status check_keys(const toml::table& table, std::string_view name,
                  const std::vector<std::string_view>& known);

// The value of a key, or `otherwise` when the key is not there.
Result<std::int64_t> number_setting(const toml::table& table, std::string_view key,
                                    std::int64_t otherwise, std::int64_t least, std::int64_t most);
Result<std::string> text_setting(const toml::table& table, std::string_view key,
                                 std::string_view otherwise);
Result<bool> switch_setting(const toml::table& table, std::string_view key, bool otherwise);

}  // namespace stationer::fs
