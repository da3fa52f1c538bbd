// What volume.toml may say, in words: each table, each key. The one source of the remarks in a new
// volume's file and of the manual (admin/settings_manual.h). Each layer has those of what it
// reads; tests/admin/settings_manual_test holds all of them to the readers.
#pragma once

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace stationer::fs {

struct SettingWords {
  std::string key;
  // "true|false", "\"auto\"|\"never\"", "0..365 days"; other values in words, as "a time of day".
  std::string values;
  std::string otherwise;     // what it is when it is not said, as TOML; empty: the remark tells
  std::string remark;        // what it is: a sentence without its capital and its full stop
  std::string more = {};     // when to change it: whole sentences
  std::string example = {};  // where `values` are in words: another value, as TOML
};

struct TableWords {
  std::string name;  // "limits", "queue.NAME": NAME is the keeper's
  std::string what;  // whole sentences
  std::vector<SettingWords> settings;
};

// Of the tables that fs reads.
std::vector<TableWords> settings_words();

// The table of that name, which has to be there.
const TableWords& table_words(const std::vector<TableWords>& tables, std::string_view name);

// A table as a new volume's file has it: its name, then keys with their remarks below each other.
// Empty values are those that hold when nothing is said; empty remarks are left out.
using ChosenSettings = std::vector<std::pair<std::string_view, std::string>>;
std::string write_settings(const TableWords& table, const ChosenSettings& settings);

}  // namespace stationer::fs
