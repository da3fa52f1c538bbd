#include "admin/plan/plan_words.h"

#include <fmt/format.h>

namespace stationer::admin {

std::string grouped(std::uint64_t number) {
  std::string digits = fmt::format("{}", number);
  for (std::size_t at = digits.size(); at > 3;) digits.insert(at -= 3, ",");
  return digits;
}

std::string metres(Millimetres length) {
  std::string digits = fmt::format("{:.2f}", static_cast<double>(length) / 1000);
  digits.erase(digits.find_last_not_of('0') + 1);
  if (digits.ends_with('.')) digits.pop_back();
  return digits + " m";
}

std::string span_of_time(std::uint64_t millis) {
  if (millis < 10'000) return fmt::format("{:.2f} s", static_cast<double>(millis) / 1000);
  if (millis < 99'950) return fmt::format("{:.1f} s", static_cast<double>(millis) / 1000);
  const std::uint64_t seconds = (millis + 500) / 1000;
  if (seconds < 3600) return fmt::format("{} min {} s", seconds / 60, seconds % 60);
  return fmt::format("{} h {} min", grouped(seconds / 3600), seconds % 3600 / 60);
}

std::string segment_words(const PlannedSegment& segment) {
  std::string out = fmt::format("segment {}", segment.number);
  if (!segment.name.empty()) out += ", " + segment.name;
  if (!segment.room.empty()) out += fmt::format(" ({})", segment.room);
  return out;
}

}  // namespace stationer::admin
