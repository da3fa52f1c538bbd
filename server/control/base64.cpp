#include "server/control/base64.h"

#include <array>
#include <cstdint>

namespace stationer::server {
namespace {

constexpr std::string_view alphabet =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
constexpr std::uint8_t foreign = 64;

constexpr std::array<std::uint8_t, 256> values = [] {
  std::array<std::uint8_t, 256> out{};
  out.fill(foreign);
  for (std::size_t i = 0; i < alphabet.size(); ++i) {
    out[static_cast<unsigned char>(alphabet[i])] = static_cast<std::uint8_t>(i);
  }
  return out;
}();

std::uint32_t byte(char c) {
  return static_cast<unsigned char>(c);
}

}  // namespace

std::string base64(std::string_view bytes) {
  std::string out;
  out.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t at = 0; at < bytes.size(); at += 3) {
    const std::string_view group = bytes.substr(at, 3);
    const std::uint32_t bits = byte(group[0]) << 16 | (group.size() > 1 ? byte(group[1]) << 8 : 0) |
                               (group.size() > 2 ? byte(group[2]) : 0);
    out += alphabet[bits >> 18];
    out += alphabet[bits >> 12 & 63];
    out += group.size() > 1 ? alphabet[bits >> 6 & 63] : '=';
    out += group.size() > 2 ? alphabet[bits & 63] : '=';
  }
  return out;
}

fs::Result<std::string> from_base64(std::string_view text) {
  const fs::Error wrong{fs::Code::bad_input, "The bytes are not in base64 (RFC 4648)."};
  if (text.size() % 4 != 0) return wrong;
  const std::size_t padding = text.ends_with("==") ? 2 : text.ends_with('=') ? 1 : 0;
  text.remove_suffix(padding);
  std::string out;
  out.reserve(text.size() / 4 * 3 + 2);
  std::uint32_t bits = 0;
  int held = 0;  // bits that are not in `out` yet
  for (const char c : text) {
    const std::uint8_t value = values[static_cast<unsigned char>(c)];
    if (value == foreign) return wrong;
    bits = bits << 6 | value;
    held += 6;
    if (held < 8) continue;
    held -= 8;
    out += static_cast<char>(bits >> held & 0xFF);
  }
  if ((bits & ((1u << held) - 1)) != 0) return wrong;
  return out;
}

}  // namespace stationer::server
