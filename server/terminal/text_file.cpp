#include "server/terminal/text_file.h"

#include <algorithm>
#include <utility>

#include "fs/text.h"

namespace stationer::server {
namespace {

constexpr char SUB = 0x1A;
constexpr char ESC = 0x1B;
constexpr char DEL = 0x7F;

}  // namespace

bool looks_like_text(std::string_view start) {
  start = start.substr(0, start.find(SUB));
  if (start.find('\0') != std::string_view::npos) return false;
  const auto strange = std::count_if(start.begin(), start.end(), [](char c) {
    const bool places_text = (c >= '\b' && c <= '\r') || c == ESC;
    return (c >= 0 && c < ' ' && !places_text) || c == DEL;
  });
  return static_cast<std::size_t>(strange) <= 1 + start.size() / 20;
}

std::string TextLines::feed(std::string_view piece) {
  std::string lines;
  for (const char c : piece) {
    if (ended_) break;
    const bool second_half = std::exchange(after_cr_, c == '\r') && c == '\n';
    if (second_half) continue;
    if (c == SUB) {
      ended_ = true;
    } else if (c == '\r' || c == '\n') {
      lines += std::exchange(open_, {});
      lines += '\n';
    } else {
      open_ += c;
      if (open_.size() < longest_part) continue;
      // At a space if there is one, and never inside a character.
      const auto space = open_.rfind(' ');
      std::size_t end = space != std::string::npos && space > 0
                            ? space + 1
                            : fs::clip(open_, longest_part - 1).size();
      if (end == 0) end = open_.size();  // it is not UTF-8 at all
      lines += open_.substr(0, end);
      lines += '\n';
      open_.erase(0, end);
    }
  }
  return lines;
}

std::string TextLines::finish() {
  if (open_.empty()) return "";
  return std::exchange(open_, {}) + '\n';
}

}  // namespace stationer::server
