// Bytes as the protocol tests write them, and the sweep over every way to cut an input in two.
#pragma once

#include <string>
#include <string_view>

namespace stationer::tests {

// "FFFB01" or "FF FB 01" as bytes.
inline std::string from_hex(std::string_view hex) {
  const auto digit = [](char c) { return c <= '9' ? c - '0' : (c | 0x20) - 'a' + 10; };
  std::string out;
  int high = -1;
  for (const char c : hex) {
    if (c == ' ') continue;
    if (high < 0) {
      high = digit(c);
    } else {
      out += static_cast<char>(high * 16 + digit(c));
      high = -1;
    }
  }
  return out;
}

inline std::string to_hex(std::string_view bytes) {
  constexpr std::string_view digits = "0123456789ABCDEF";
  std::string out;
  for (const char c : bytes) {
    out += digits[static_cast<unsigned char>(c) >> 4];
    out += digits[static_cast<unsigned char>(c) & 15];
  }
  return out;
}

// Bytes with what does not print as <hex>, for messages a person can read.
inline std::string readable(std::string_view bytes) {
  std::string out;
  for (const char c : bytes) {
    if (c >= ' ' && c <= '~' && c != '<') {
      out += c;
    } else {
      out += '<' + to_hex({&c, 1}) + '>';
    }
  }
  return out;
}

// Calls use(first, second) for every way to cut `input` in two, both ends included.
template <class Use>
void every_cut(std::string_view input, Use use) {
  for (std::size_t at = 0; at <= input.size(); ++at) use(input.substr(0, at), input.substr(at));
}

}  // namespace stationer::tests
