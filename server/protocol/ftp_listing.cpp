#include "server/protocol/ftp_listing.h"

#include <algorithm>
#include <array>
#include <chrono>

#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::server {
namespace {

using fs::Access;

constexpr std::array<std::string_view, 5> facts = {"Type", "Size", "Modify", "Perm", "Unique"};
constexpr std::chrono::days half_a_year{182};

// On a folder, to read is also to pass through, and to write to get at what one has put there.
std::string mode(const fs::NodeView& node) {
  struct Pair {
    Access::Bit read, write;
  };
  constexpr std::array<Pair, 3> pairs = {{{Access::owner_read, Access::owner_write},
                                          {Access::class_read, Access::class_write},
                                          {Access::everyone_read, Access::everyone_write}}};
  std::string out(1, node.folder ? 'd' : '-');
  for (const auto& [read, write] : pairs) {
    const bool reads = node.access.has(read);
    const bool writes = node.access.has(write);
    out += reads ? 'r' : '-';
    out += writes ? 'w' : '-';
    out += node.folder && (reads || writes) ? 'x' : '-';
  }
  return out;
}

struct Moment {
  std::chrono::year_month_day day;
  std::chrono::hh_mm_ss<std::chrono::seconds> time;
};

Moment moment(fs::Time time) {
  const auto seconds = std::chrono::floor<std::chrono::seconds>(time);
  const auto day = std::chrono::floor<std::chrono::days>(seconds);
  return {std::chrono::year_month_day(day), std::chrono::hh_mm_ss(seconds - day)};
}

std::string list_date(fs::Time time, fs::Time now) {
  constexpr std::array<std::string_view, 12> months = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                                       "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
  const auto [day, clock] = moment(time);
  const std::string date =
      fmt::format("{} {:>2}", months[unsigned{day.month()} - 1], unsigned{day.day()});
  if (time > now - half_a_year && time <= now + std::chrono::days(1)) {
    return fmt::format("{} {:02}:{:02}", date, clock.hours().count(), clock.minutes().count());
  }
  return fmt::format("{}  {}", date, int{day.year()});
}

// RFC 3659 §7.5.5
std::string permissions(const fs::NodeView& node, bool may_write_folder) {
  const bool writes = node.may_write && !node.access.has(Access::keep);
  std::string out;
  if (node.folder) {
    if (writes) out += 'c';
    if (writes && may_write_folder) out += 'd';
    if (node.may_read || node.may_write) out += 'e';
    if (writes && may_write_folder) out += 'f';
    if (node.may_read) out += 'l';
    if (writes) out += "mp";
    return out;
  }
  if (writes && node.may_read) out += 'a';
  if (writes && may_write_folder) out += "df";
  if (node.may_read) out += 'r';
  if (writes) out += 'w';
  return out;
}

bool same_letter(char a, char b) {
  const auto small = [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; };
  return small(a) == small(b);
}

}  // namespace

std::string list_line(const fs::NodeView& node, std::string_view name, fs::Time now) {
  return fmt::format("{}   1 {:<8} {:<8} {:>11} {} {}", mode(node),
                     node.owner.empty() ? "nobody" : node.owner,
                     node.klass.empty() ? "none" : node.klass, node.folder ? 0 : node.size,
                     list_date(node.modified, now), name);
}

bool FtpFacts::choose(std::string_view list) {
  unsigned chosen = 0;
  while (!list.empty()) {
    const auto end = list.find(';');
    if (end == std::string_view::npos || end == 0) return false;
    const std::string name = fs::ascii_lower(list.substr(0, end));
    if (name.find(' ') != std::string::npos) return false;
    for (unsigned i = 0; i < count; ++i) {
      if (fs::ascii_lower(facts[i]) == name) chosen |= 1u << i;
    }
    list.remove_prefix(end + 1);
  }
  chosen_ = chosen;
  return true;
}

std::string FtpFacts::chosen() const {
  std::string out;
  for (unsigned i = 0; i < count; ++i) {
    if ((chosen_ >> i & 1) != 0) out += fmt::format("{};", facts[i]);
  }
  return out;
}

std::string FtpFacts::features() const {
  std::string out;
  for (unsigned i = 0; i < count; ++i) {
    out += fmt::format("{}{};", facts[i], (chosen_ >> i & 1) != 0 ? "*" : "");
  }
  return out;
}

std::string FtpFacts::of(const fs::NodeView& node, bool may_write_folder) const {
  const std::array<std::string, count> values = {
      node.folder ? "dir" : "file", node.folder ? "" : fmt::format("{}", node.size),
      ftp_time(node.modified), permissions(node, may_write_folder),
      fmt::format("{:x}", number(node.id))};
  std::string out;
  for (unsigned i = 0; i < count; ++i) {
    if (node.folder && facts[i] == "Size") continue;
    if ((chosen_ >> i & 1) != 0) out += fmt::format("{}={};", facts[i], values[i]);
  }
  return out;
}

std::string ftp_time(fs::Time time) {
  const auto [day, clock] = moment(time);
  return fmt::format("{:04}{:02}{:02}{:02}{:02}{:02}", int{day.year()}, unsigned{day.month()},
                     unsigned{day.day()}, clock.hours().count(), clock.minutes().count(),
                     clock.seconds().count());
}

// Goes back only to the last *, so that no pattern takes long.
bool fits_pattern(std::string_view name, std::string_view pattern) {
  std::size_t at = 0;
  std::size_t in = 0;
  std::size_t star = std::string_view::npos;
  std::size_t star_at = 0;
  while (at < name.size()) {
    if (in < pattern.size() && pattern[in] == '*') {
      star = in++;
      star_at = at;
    } else if (in < pattern.size() && (pattern[in] == '?' || same_letter(pattern[in], name[at]))) {
      ++in;
      ++at;
    } else if (star != std::string_view::npos) {
      in = star + 1;
      at = ++star_at;
    } else {
      return false;
    }
  }
  return pattern.find_first_not_of('*', in) == std::string_view::npos;
}

std::string_view without_options(std::string_view argument) {
  while (argument.starts_with('-')) {
    const auto end = std::min(argument.find(' '), argument.size());
    argument.remove_prefix(std::min(argument.find_first_not_of(' ', end), argument.size()));
  }
  return argument;
}

}  // namespace stationer::server
