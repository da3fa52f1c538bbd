#include "fs/hand_in.h"

#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "fs/local_time.h"
#include "fs/node_name.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr std::size_t stem_length = 8;  // FAT specification 1.03, "Name Limits": 8.3
constexpr std::size_t extension_length = 3;
constexpr std::size_t longest_extension = 32;

// "essay.txt" into "essay" and ".txt". A dot in front is no extension's.
std::pair<std::string_view, std::string_view> parts(std::string_view name) {
  const auto dot = name.rfind('.');
  if (dot == std::string_view::npos || dot == 0) return {name, ""};
  return {name.substr(0, dot), name.substr(dot)};
}

// The letters and digits of `text`, in lower case.
std::string plain(std::string_view text) {
  std::string out;
  for (const char c : ascii_lower(text)) {
    if ((c >= 'a' && c <= 'z') || (c >= '0' && c <= '9')) out += c;
  }
  return out;
}

bool may_be_stem(const std::string& stem) {
  return is_short_name(stem) && check_name(stem).has_value();
}

// `base`, or its start with the first number behind it that nobody has yet.
std::string free_stem(const std::string& base, std::set<std::string>& taken) {
  std::string stem = base.substr(0, stem_length);
  for (int number = 2; !may_be_stem(stem) || taken.count(stem) != 0; ++number) {
    const std::string digits = fmt::format("{}", number);
    stem = base.substr(0, stem_length - digits.size()) + digits;
  }
  taken.insert(stem);
  return stem;
}

}  // namespace

Result<Time> parse_opening(std::string_view text) {
  return parse_time(text);
}

Result<Time> parse_closing(std::string_view text) {
  const auto start = parse_time(text);
  const auto end = parse_time(text, DayMeans::end);
  if (!start || !end || *start == *end) return end;
  return *end - std::chrono::milliseconds(1);  // it was a day
}

Status check_times(const HandInTimes& times) {
  if (times.opens && times.closes && *times.closes < *times.opens) {
    return Error{Code::bad_input, "A hand-in folder can't close before it opens."};
  }
  return {};
}

HandInTiming hand_in_timing(const HandInTimes& times, Time now) {
  if (times.opens && now < *times.opens) return HandInTiming::too_early;
  if (!times.closes || now <= *times.closes) return HandInTiming::in_time;
  return times.late_allowed ? HandInTiming::late : HandInTiming::too_late;
}

std::string version_name(std::string_view name, std::uint32_t version) {
  if (version <= 1) return std::string(name);
  const auto [stem, extension] = parts(name);
  const std::string tail = fmt::format("-{}", version);
  // An extension that leaves no room is not one that a program looks at.
  const bool keeps = extension.size() <= longest_extension;
  const std::size_t room = longest_name - tail.size() - (keeps ? extension.size() : 0);
  std::string_view start = clip(keeps ? stem : name, room);
  return fmt::format("{}{}{}", start, tail, keeps ? extension : "");
}

std::vector<std::string> collected_names(const std::vector<std::string>& people,
                                         const std::vector<OwnedName>& files) {
  std::set<std::string> everybody(people.begin(), people.end());
  for (const auto& file : files) everybody.insert(file.account);
  // Everybody's own stem first: no second file of one takes it from another.
  std::set<std::string> taken{"list"};
  std::map<std::string, std::string> own;
  for (const auto& account : everybody) {
    std::string base = plain(account);
    if (base.empty()) base = "member";
    own[account] = free_stem(base, taken);
  }
  std::set<std::string> begun;
  std::vector<std::string> out;
  for (const auto& file : files) {
    std::string stem = own.at(file.account);
    if (!begun.insert(file.account).second) stem = free_stem(stem, taken);
    const std::string extension = plain(parts(file.name).second).substr(0, extension_length);
    out.push_back(extension.empty() ? stem : stem + "." + extension);
  }
  return out;
}

}  // namespace stationer::fs
