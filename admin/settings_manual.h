// The manual page of volume.toml, in man(7)'s macros, made of the words that each layer has for
// what it reads (fs/settings_words.h).
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fs/settings_words.h"

namespace stationer::admin {

inline constexpr std::string_view settings_page = "stationer-volume";

std::string settings_manual_page();

// Every table there is.
std::vector<fs::TableWords> all_settings_words();

// What its values are, as a sentence: "From 0 to 365 days."; empty for true and false, and
// for long lists.
std::string values_sentence(const fs::SettingWords& setting);

// The settings of a room, which the page ends with.
std::string_view settings_example();

}  // namespace stationer::admin
