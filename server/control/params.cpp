#include "server/control/params.h"

#include <algorithm>
#include <limits>

#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::server {

namespace json = boost::json;
using fs::Code;
using fs::Error;

Params::Params(const json::value& value) : object_(value.if_object()) {
  if (object_ == nullptr && !value.is_null()) {
    refuse("The parameters have to be an object, with a name for each.");
  }
}

void Params::refuse(std::string why) {
  if (!wrong_) wrong_ = Error{Code::bad_input, std::move(why)};
}

const json::value* Params::take(std::string_view key) {
  if (std::find(taken_.begin(), taken_.end(), key) == taken_.end()) taken_.push_back(key);
  const json::value* value = object_ == nullptr ? nullptr : object_->if_contains(key);
  return value == nullptr || value->is_null() ? nullptr : value;
}

const json::value* Params::need(std::string_view key) {
  const json::value* value = take(key);
  if (value == nullptr) refuse(fmt::format("\"{}\" is missing.", key));
  return value;
}

std::optional<std::string> Params::optional_text(std::string_view key) {
  const json::value* value = take(key);
  if (value == nullptr) return std::nullopt;
  const json::string* text = value->if_string();
  if (text == nullptr) {
    refuse(fmt::format("\"{}\" has to be a text.", key));
    return std::nullopt;
  }
  return std::string(*text);
}

std::string Params::text(std::string_view key) {
  static_cast<void>(need(key));
  return optional_text(key).value_or("");
}

std::string Params::text_or_empty(std::string_view key) {
  return optional_text(key).value_or("");
}

std::vector<std::string> Params::words(std::string_view key) {
  return optional_words(key).value_or(std::vector<std::string>());
}

std::optional<std::vector<std::string>> Params::optional_words(std::string_view key) {
  const auto all = optional_text(key);
  if (!all) return std::nullopt;
  std::vector<std::string> out;
  std::string_view left = *all;
  while (!left.empty()) {
    const auto end = left.find(' ');
    if (end != 0) out.emplace_back(left.substr(0, end));
    left = end == std::string_view::npos ? "" : left.substr(end + 1);
  }
  return out;
}

std::optional<std::uint64_t> Params::optional_whole(std::string_view key, std::uint64_t most) {
  const json::value* value = take(key);
  if (value == nullptr) return std::nullopt;
  const std::int64_t* number = value->if_int64();
  if (number == nullptr || *number < 0 || static_cast<std::uint64_t>(*number) > most) {
    refuse(fmt::format("\"{}\" has to be a whole number from 0 to {}.", key, most));
    return std::nullopt;
  }
  return static_cast<std::uint64_t>(*number);
}

std::uint64_t Params::whole(std::string_view key, std::uint64_t most) {
  static_cast<void>(need(key));
  return optional_whole(key, most).value_or(0);
}

std::uint64_t Params::whole_or(std::string_view key, std::uint64_t otherwise, std::uint64_t most) {
  return optional_whole(key, most).value_or(otherwise);
}

std::optional<bool> Params::optional_flag(std::string_view key) {
  const json::value* value = take(key);
  if (value == nullptr) return std::nullopt;
  const bool* flag = value->if_bool();
  if (flag == nullptr) {
    refuse(fmt::format("\"{}\" has to be true or false.", key));
    return std::nullopt;
  }
  return *flag;
}

bool Params::flag(std::string_view key) {
  return optional_flag(key).value_or(false);
}

std::optional<fs::Time> Params::optional_time(std::string_view key, fs::DayMeans day) {
  const auto text = optional_text(key);
  if (!text) return std::nullopt;
  const auto time = fs::parse_time(*text, day);
  if (time) return *time;
  refuse(time.error().message);
  return std::nullopt;
}

fs::Path Params::path(std::string_view key) {
  auto parsed = fs::Path::parse(text(key));
  if (parsed) return std::move(*parsed);
  if (!wrong_) wrong_ = parsed.error();
  return {};
}

std::uint32_t Params::number(std::string_view key) {
  return static_cast<std::uint32_t>(whole(key, std::numeric_limits<std::uint32_t>::max()));
}

fs::Status Params::check() const {
  if (wrong_) return *wrong_;
  if (object_ == nullptr) return {};
  for (const auto& field : *object_) {
    const std::string_view key = field.key();
    if (std::find(taken_.begin(), taken_.end(), key) != taken_.end()) continue;
    return Error{Code::bad_input, taken_.empty()
                                      ? "This method takes no parameters."
                                      : fmt::format("There is no parameter \"{}\"; there are: {}.",
                                                    fs::clip(key, 40), fmt::join(taken_, ", "))};
  }
  return {};
}

}  // namespace stationer::server
