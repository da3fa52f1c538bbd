#include "server/terminal/wording.h"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::server {

std::string short_size(std::uint64_t bytes) {
  if (bytes < 1000) return fmt::format("{}", bytes);
  double value = static_cast<double>(bytes);
  for (const char unit : {'K', 'M', 'G'}) {
    value /= 1024;
    if (value < 999.95) return fmt::format("{:.1f}{}", value, unit);
  }
  return fmt::format("{:.0f}T", value / 1024);
}

std::string short_date(fs::Time time) {
  return fmt::format("{:%Y-%m-%d %H:%M}", fmt::localtime(std::chrono::system_clock::to_time_t(time)));
}

std::string padded(std::string_view text, std::size_t width) {
  const std::size_t length = fs::characters(text);
  if (length <= width) return std::string(text) + std::string(width - length, ' ');
  std::string out;
  std::size_t taken = 0;
  for (std::size_t at = 0; at < text.size() && taken + 1 < width; ++taken) {
    std::size_t next = at + 1;
    while (next < text.size() && (static_cast<unsigned char>(text[next]) & 0xC0u) == 0x80) ++next;
    out += text.substr(at, next - at);
    at = next;
  }
  return out + '~';
}

std::string counted(std::uint64_t number, std::string_view thing) {
  return fmt::format("{} {}{}", number, thing, number == 1 ? "" : "s");
}

}  // namespace stationer::server
