#include "server/shell_word.h"

#include <algorithm>
#include <cctype>

namespace stationer::server {

std::string in_shell(std::string_view word) {
  const bool plain = std::all_of(word.begin(), word.end(), [](char c) {
    return std::isalnum(static_cast<unsigned char>(c)) != 0 ||
           std::string_view("/._-+,@%:").find(c) != std::string_view::npos;
  });
  if (plain && !word.empty()) return std::string(word);
  std::string out = "'";
  for (const char c : word) out += c == '\'' ? "'\\''" : std::string(1, c);
  return out + "'";
}

}  // namespace stationer::server
