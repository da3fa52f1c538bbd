#include "admin/report.h"

#include <algorithm>
#include <cctype>
#include <ctime>
#include <iostream>
#include <utility>

#include <boost/json/array.hpp>
#include <boost/json/serialize.hpp>
#include <fmt/format.h>

#include "admin/host.h"
#include "fs/size_words.h"
#include "fs/text.h"
#include "print/charset.h"
#include "server/protocol/encoder.h"
#include "server/protocol/substitute.h"
#include "server/terminal/table.h"
#include "server/terminal/wording.h"

namespace stationer::admin {
namespace {

namespace json = boost::json;

const json::value* field(const json::object& object, std::string_view key) {
  const json::value* value = object.if_contains(key);
  return value == nullptr || value->is_null() ? nullptr : value;
}

// Reads what server::time_text() writes.
std::optional<fs::Time> read_time(const std::string& text) {
  std::tm parts{};
  const char* rest = ::strptime(text.c_str(), "%Y-%m-%dT%H:%M:%S", &parts);
  if (rest == nullptr) return std::nullopt;
  return fs::Time(std::chrono::seconds(::timegm(&parts)));
}

}  // namespace

std::string text_of(const json::object& object, std::string_view key) {
  const json::value* value = field(object, key);
  if (value == nullptr) return "";
  if (const json::string* text = value->if_string()) return printable(*text);
  return json::serialize(*value);
}

std::uint64_t number_of(const json::object& object, std::string_view key) {
  const json::value* value = field(object, key);
  const std::int64_t* number = value == nullptr ? nullptr : value->if_int64();
  return number == nullptr || *number < 0 ? 0 : static_cast<std::uint64_t>(*number);
}

bool is_set(const json::object& object, std::string_view key) {
  const json::value* value = field(object, key);
  const bool* flag = value == nullptr ? nullptr : value->if_bool();
  return flag != nullptr && *flag;
}

std::string time_of(const json::object& object, std::string_view key) {
  const auto time = read_time(text_of(object, key));
  return time ? server::short_date(*time) : "";
}

std::string last_day_of(const json::object& object, std::string_view key) {
  const auto time = read_time(text_of(object, key));
  return time ? server::short_day(*time - std::chrono::milliseconds(1)) : "";
}

std::string size_of(const json::object& object, std::string_view key) {
  return server::short_size(number_of(object, key));
}

std::string address_of(const json::object& object, std::string_view key) {
  if (field(object, key) == nullptr) return "";
  return server::hex(static_cast<std::uint32_t>(number_of(object, key)));
}

std::string names_of(const json::object& object, std::string_view key) {
  const json::value* value = field(object, key);
  const json::array* all = value == nullptr ? nullptr : value->if_array();
  if (all == nullptr) return "";
  std::string out;
  for (const auto& name : *all) {
    if (!out.empty()) out += ", ";
    if (const json::string* text = name.if_string()) out += printable(*text);
  }
  return out;
}

std::string printable(std::string_view text) {
  static const server::Encoder utf_8(print::Charset::utf_8);
  if (!fs::is_utf8(text)) return "?";
  std::string out;
  fs::each_character(text, [&](char32_t c) {
    const bool control = c < 0x20 || (c >= 0x7F && c < 0xA0);
    utf_8.append(control || server::steers_layout(c) ? print::replacement_character : c, out);
  });
  return out;
}

void say(std::string_view line) {
  std::cout << line << '\n';
}

void complain(std::string_view sentence) {
  // In its turn among what was said before, where both go to one place.
  std::cout.flush();
  std::cerr << "stationer: " << printable(sentence) << '\n';
}

void say_json(const json::value& value) {
  std::cout << json::serialize(value) << '\n';
}

Column text_column(std::string_view title, std::string_view key) {
  return {title, [key](const json::object& item) { return text_of(item, key); }};
}

Column number_column(std::string_view title, std::string_view key) {
  return {title, [key](const json::object& item) { return text_of(item, key); }, true};
}

Column size_column(std::string_view title, std::string_view key) {
  return {title, [key](const json::object& item) { return size_of(item, key); }, true};
}

Column time_column(std::string_view title, std::string_view key) {
  return {title, [key](const json::object& item) { return time_of(item, key); }};
}

void say_table(const std::vector<Column>& columns, const json::array& items, const Note& note) {
  std::vector<server::Table::Column> heads;
  for (const Column& column : columns) heads.push_back({column.title, 0, column.right});
  server::Table table(std::move(heads));
  for (const auto& item : items) {
    std::vector<std::string> cells;
    for (const Column& column : columns) cells.push_back(column.cell(item.as_object()));
    table.add(std::move(cells));
    if (std::string text = note ? note(item.as_object()) : ""; !text.empty()) {
      table.note(std::move(text));
    }
  }
  std::cout << table.text(terminal_columns());
}

fs::Status say_listing(Channel& channel, std::string_view method, json::object params, bool as_json,
                       const std::vector<Column>& columns, std::string_view none,
                       const Note& note) {
  auto listing = channel.list(method, std::move(params));
  if (!listing) return listing.error();
  if (as_json) {
    say_json(listing->items);
  } else if (listing->items.empty()) {
    say(none);
  } else {
    say_table(columns, listing->items, note);
  }
  return {};
}

void say_facts(const std::vector<Fact>& facts) {
  std::size_t widest = 0;
  for (const Fact& fact : facts) {
    if (!fact.text.empty()) widest = std::max(widest, fact.label.size());
  }
  for (const Fact& fact : facts) {
    std::string_view label = fact.label;
    for (std::string_view text = fact.text; !text.empty();) {
      const auto line = text.substr(0, text.find('\n'));
      say(fmt::format("{:<{}}  {}", std::exchange(label, ""), widest, line));
      text.remove_prefix(std::min(line.size() + 1, text.size()));
    }
  }
}

Progress::Progress(std::string what)
    : what_(std::move(what)), shown_(is_terminal(Standard::error)) {}

void Progress::end() {
  if (shown_ && percent_ >= 0) show_on_error("\r" + std::string(what_.size() + 6, ' ') + "\r");
  percent_ = -1;
}

void Progress::at(std::uint64_t done, std::uint64_t all) {
  if (!shown_ || all == 0) return;
  const int percent =
      static_cast<int>(100.0 * static_cast<double>(std::min(done, all)) / static_cast<double>(all));
  if (percent == percent_) return;
  percent_ = percent;
  show_on_error(fmt::format("\r{} {:3} %", what_, percent));
}

std::string limit_of(const boost::json::object& object, std::string_view soft,
                     std::string_view hard,
                     std::string (*word)(const boost::json::object&, std::string_view)) {
  const auto in_words = [&](std::string_view key) {
    return number_of(object, key) == 0 ? "" : word(object, key);
  };
  return fs::limits_in_words(in_words(soft), in_words(hard));
}

}  // namespace stationer::admin
