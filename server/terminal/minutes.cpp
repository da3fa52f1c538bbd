#include "server/terminal/minutes.h"

#include <charconv>

#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::server {

fs::Result<std::chrono::minutes> minutes_of(std::string_view typed, std::chrono::minutes most) {
  int number = 0;
  const char* const end = typed.data() + typed.size();
  const auto [stopped, failed] = std::from_chars(typed.data(), end, number);
  if (failed == std::errc() && stopped == end && number >= 1 && number <= most.count()) {
    return std::chrono::minutes(number);
  }
  return fs::Error{fs::Code::bad_input, fmt::format("Minutes are a number from 1 to {}, not {}.",
                                                    most.count(), fs::clip(typed, 20))};
}

}  // namespace stationer::server
