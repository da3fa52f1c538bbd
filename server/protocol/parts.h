// A text in parts. Pure.
#pragma once

#include <string_view>
#include <vector>

namespace stationer::server {

// What stands between the separators, in order; empty where two stand together.
inline std::vector<std::string_view> parts(std::string_view text, char separator) {
  std::vector<std::string_view> out;
  for (;;) {
    const auto end = text.find(separator);
    out.push_back(text.substr(0, end));
    if (end == std::string_view::npos) return out;
    text.remove_prefix(end + 1);
  }
}

}  // namespace stationer::server
