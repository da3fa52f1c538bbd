#include "server/terminal/wording.h"

#include <algorithm>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::server {
namespace {

std::string date(fs::Time time, const char* form) {
  const auto local = fmt::localtime(std::chrono::system_clock::to_time_t(time));
  return fmt::format(fmt::runtime(form), local);
}

std::string_view last_characters(std::string_view text, std::size_t count) {
  std::size_t at = text.size();
  for (; count > 0 && at > 0; --count) {
    --at;
    while (at > 0 && (static_cast<unsigned char>(text[at]) & 0xC0u) == 0x80) --at;
  }
  return text.substr(at);
}

}  // namespace

std::string exact_size(std::uint64_t bytes) {
  std::string digits = fmt::format("{}", bytes);
  for (std::size_t at = digits.size(); at > 3;) digits.insert(at -= 3, ",");
  return digits + (bytes == 1 ? " byte" : " bytes");
}

std::string short_date(fs::Time time) {
  return date(time, "{:%Y-%m-%d %H:%M}");
}

std::string short_day(fs::Time time) {
  return date(time, "{:%Y-%m-%d}");
}

std::string counted(std::uint64_t number, std::string_view one, std::string_view many) {
  if (number == 1) return fmt::format("1 {}", one);
  if (!many.empty()) return fmt::format("{} {}", number, many);
  return fmt::format("{} {}s", number, one);
}

std::string as_typed(std::string_view name) {
  if (name.find(' ') == std::string_view::npos) return std::string(name);
  return fmt::format("\"{}\"", name);
}

std::string listed(const std::vector<std::string>& names, std::string_view last) {
  std::string out;
  for (std::size_t i = 0; i < names.size(); ++i) {
    if (i > 0) out += i + 1 == names.size() ? fmt::format(" {} ", last) : ", ";
    out += names[i];
  }
  return out;
}

std::string hex(std::uint32_t address) {
  return fmt::format("{:04X} hex", address);
}

std::string place(const fs::Path& path, int columns) {
  const auto most = static_cast<std::size_t>(std::max(columns / 2, 8));
  std::string whole = path.text();
  if (fs::characters(whole) <= most) return whole;
  const std::string& last = path.last();
  if (fs::characters(last) + 3 <= most) return "../" + last;
  return ".." + std::string(last_characters(last, most - 2));
}

std::string seen_from(const fs::Path& here, const fs::Path& path) {
  const auto& above = here.names();
  const auto& names = path.names();
  const bool below =
      names.size() > above.size() && std::equal(above.begin(), above.end(), names.begin());
  if (!below || here.is_top()) return path.text();
  std::string out = names[above.size()];
  for (std::size_t i = above.size() + 1; i < names.size(); ++i) out += '/' + names[i];
  return out;
}

std::string permission(bool read, bool write, bool folder) {
  if (folder) {
    if (read && write) return "may look in and add to it";
    if (read) return "may look in";
    if (write) return "may put things in, but not look";
    return "may not look in";
  }
  if (read && write) return "may read and change it";
  if (read) return "may read it";
  if (write) return "may replace it, but not read it";
  return "may not read it";
}

}  // namespace stationer::server
