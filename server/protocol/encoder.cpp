#include "server/protocol/encoder.h"

#include <algorithm>

#include "server/protocol/substitute.h"

namespace stationer::server {
namespace {

bool is_control(char32_t c) {
  return c < 0x20 || (c >= 0x7F && c < 0xA0);
}

}  // namespace

Encoder::Encoder(print::Charset charset, bool capitals)
    : utf_8_(charset == print::Charset::utf_8), capitals_(capitals) {
  if (utf_8_) return;
  print::Decoder decoder(charset);
  for (unsigned byte = 0; byte < 256; ++byte) {
    const char32_t c = decoder.put(static_cast<std::uint8_t>(byte)).at[0];
    if (!is_control(c) && c != print::replacement_character) {
      table_[byte] = static_cast<char16_t>(c);
    }
  }
}

bool Encoder::has(char32_t c) const {
  if (utf_8_) return c <= 0x10FFFF && (c < 0xD800 || c > 0xDFFF);
  if (c < 128 && table_[c] == c) return true;
  return c != 0 && std::find(table_.begin(), table_.end(), c) != table_.end();
}

char32_t Encoder::shown(char32_t c) const {
  if (is_control(c)) return U'?';
  if (steers_layout(c) || (!utf_8_ && cells(c) == 0)) return 0;
  if (capitals_) c = capital(c);
  while (c != 0 && !has(c)) c = substitute(c);
  if (c == 0) return U'?';
  return capitals_ ? capital(c) : c;
}

void Encoder::append(char32_t c, std::string& out) const {
  const auto put = [&out](char32_t byte) { out += static_cast<char>(byte); };
  if (c == 0) return;
  if (!utf_8_) {
    const auto at = c < 128 && table_[c] == c ? table_.begin() + static_cast<std::ptrdiff_t>(c)
                                              : std::find(table_.begin(), table_.end(), c);
    if (at != table_.end()) put(static_cast<char32_t>(at - table_.begin()));
  } else if (c < 0x80) {
    put(c);
  } else if (c < 0x800) {
    put(0xC0 | c >> 6);
    put(0x80 | (c & 0x3F));
  } else if (c < 0x10000) {
    put(0xE0 | c >> 12);
    put(0x80 | (c >> 6 & 0x3F));
    put(0x80 | (c & 0x3F));
  } else {
    put(0xF0 | c >> 18);
    put(0x80 | (c >> 12 & 0x3F));
    put(0x80 | (c >> 6 & 0x3F));
    put(0x80 | (c & 0x3F));
  }
}

}  // namespace stationer::server
