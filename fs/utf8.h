// Characters to UTF-8, for whoever has them one by one.
#pragma once

#include <string>

namespace stationer::fs {

// Appends a character in UTF-8 (RFC 3629 section 3). It must not be half of a surrogate pair.
inline void append_utf8(std::string& out, char32_t c) {
  const auto put = [&out](char32_t byte) { out += static_cast<char>(byte); };
  if (c < 0x80) return put(c);
  if (c < 0x800) {
    put(0xC0 | c >> 6);
  } else if (c < 0x10000) {
    put(0xE0 | c >> 12);
    put(0x80 | (c >> 6 & 0x3F));
  } else {
    put(0xF0 | c >> 18);
    put(0x80 | (c >> 12 & 0x3F));
    put(0x80 | (c >> 6 & 0x3F));
  }
  put(0x80 | (c & 0x3F));
}

}  // namespace stationer::fs
