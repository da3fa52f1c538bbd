#include "fs/size_words.h"

#include <fmt/format.h>

namespace stationer::fs {

std::string short_size(std::uint64_t bytes) {
  if (bytes < 1000) return fmt::format("{}", bytes);
  double value = static_cast<double>(bytes);
  for (const char unit : {'K', 'M', 'G'}) {
    value /= 1024;
    if (value < 999.95) return fmt::format("{:.1f}{}", value, unit);
  }
  return fmt::format("{:.0f}T", value / 1024);
}

std::string size_in_words(std::uint64_t bytes) {
  if (bytes == 1) return "1 byte";
  return short_size(bytes) + (bytes < 1000 ? " bytes" : "");
}

std::string limits_in_words(const std::string& soft, const std::string& hard) {
  if (soft.empty() && hard.empty()) return "no limit";
  if (soft.empty()) return fmt::format("stopped at {}", hard);
  if (hard.empty()) return fmt::format("warned at {}", soft);
  return fmt::format("warned at {}, stopped at {}", soft, hard);
}

}  // namespace stationer::fs
