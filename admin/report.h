// What commands say: tables and facts for people, JSON for programs, complaints on standard error.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

#include <boost/json/object.hpp>
#include <boost/json/value.hpp>

#include "admin/channel.h"
#include "fs/result.h"
#include "server/shell_word.h"

namespace stationer::admin {

// A field of an answer in words; empty when it is not there, so that an answer of another version
// still shows.
std::string text_of(const boost::json::object& object, std::string_view key);
std::uint64_t number_of(const boost::json::object& object, std::string_view key);
bool is_set(const boost::json::object& object, std::string_view key);
std::string time_of(const boost::json::object& object, std::string_view key);  // local time
std::string size_of(const boost::json::object& object, std::string_view key);  // "1.2M"
// "warned at 64.0M, stopped at 80.0M", by two limits of which 0 is none; `word` tells one of them.
std::string limit_of(const boost::json::object& object, std::string_view soft,
                     std::string_view hard,
                     std::string (*word)(const boost::json::object&, std::string_view));
std::string address_of(const boost::json::object& object, std::string_view key);   // "1900 hex"
std::string names_of(const boost::json::object& object, std::string_view key);     // "a, b"
std::string last_day_of(const boost::json::object& object, std::string_view key);  // before an end

// Text for a terminal: what could steer it is replaced.
std::string printable(std::string_view text);

using server::in_shell;

// A line on standard output, and one on standard error that says who complains.
void say(std::string_view line);
void complain(std::string_view sentence);

// `--json`: the method's result as it is, in one line; a listing is one JSON array.
void say_json(const boost::json::value& value);

struct Column {
  std::string_view title;
  std::function<std::string(const boost::json::object& item)> cell;
  bool right = false;
};

// The cells most columns have.
Column text_column(std::string_view title, std::string_view key);
Column number_column(std::string_view title, std::string_view key);
Column size_column(std::string_view title, std::string_view key);
Column time_column(std::string_view title, std::string_view key);

// What is said of an item under its row; nothing is, when it is empty.
using Note = std::function<std::string(const boost::json::object& item)>;

void say_table(const std::vector<Column>& columns, const boost::json::array& items,
               const Note& note = nullptr);

// A whole listing: as JSON, as a table, or `none` when there is nothing.
fs::Status say_listing(Channel& channel, std::string_view method, boost::json::object params,
                       bool json, const std::vector<Column>& columns, std::string_view none,
                       const Note& note = nullptr);

// Facts about one thing, each on a line with its label; a text may have several lines.
struct Fact {
  std::string_view label;
  std::string text;  // nothing is said of what is empty
};
void say_facts(const std::vector<Fact>& facts);

// What is done so far of long work: shown when standard error is a terminal, and gone in the end.
class Progress {
 public:
  explicit Progress(std::string what);
  Progress(const Progress&) = delete;
  Progress& operator=(const Progress&) = delete;
  ~Progress() { end(); }
  void at(std::uint64_t done, std::uint64_t all);
  void end();  // takes it off the screen

 private:
  std::string what_;
  bool shown_;
  int percent_ = -1;
};

}  // namespace stationer::admin
