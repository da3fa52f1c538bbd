#include "server/protocol/encoder.h"

#include <algorithm>
#include <map>

#include "server/protocol/substitute.h"

namespace stationer::server {
namespace {

bool is_control(char32_t c) {
  return c < 0x20 || (c >= 0x7F && c < 0xA0);
}

}  // namespace

std::u32string decode(std::string_view bytes, print::Charset charset) {
  print::Decoder decoder(charset);
  std::u32string out;
  const auto take = [&out](const print::Decoder::Characters& decoded) {
    out.append(decoded.at.data(), decoded.count);
  };
  for (const char byte : bytes) take(decoder.put(static_cast<std::uint8_t>(byte)));
  take(decoder.finish());
  return out;
}

const Encoder::Table& Encoder::table_of(print::Charset charset) {
  static const std::map<print::Charset, Table> tables = [] {
    std::map<print::Charset, Table> all;
    for (const auto& entry : print::charsets()) {
      print::Decoder decoder(entry.charset);
      Table& table = all[entry.charset];
      for (unsigned byte = 0; byte < 256; ++byte) {
        const auto decoded = decoder.put(static_cast<std::uint8_t>(byte));
        const char32_t c = decoded.at[0];
        if (!is_control(c) && c != print::replacement_character) {
          table[byte] = static_cast<char16_t>(c);
        }
      }
    }
    return all;
  }();
  return tables.at(charset);
}

Encoder::Encoder(print::Charset charset, bool capitals)
    : table_(charset == print::Charset::utf_8 ? nullptr : &table_of(charset)),
      capitals_(capitals) {}

bool Encoder::has(char32_t c) const {
  if (table_ == nullptr) return c <= 0x10FFFF && (c < 0xD800 || c > 0xDFFF);
  if (c < 128 && (*table_)[c] == c) return true;
  return c != 0 && std::find(table_->begin(), table_->end(), c) != table_->end();
}

char32_t Encoder::shown(char32_t c) const {
  if (is_control(c)) return U'?';
  if (steers_layout(c) || (table_ != nullptr && cells(c) == 0)) return 0;
  if (capitals_) c = capital(c);
  while (c != 0 && !has(c)) c = substitute(c);
  if (c == 0) return U'?';
  return capitals_ ? capital(c) : c;
}

void Encoder::append(char32_t c, std::string& out) const {
  const auto put = [&out](char32_t byte) { out += static_cast<char>(byte); };
  if (c == 0) return;
  if (table_ != nullptr) {
    const auto at = c < 128 && (*table_)[c] == c ? table_->begin() + static_cast<std::ptrdiff_t>(c)
                                                 : std::find(table_->begin(), table_->end(), c);
    if (at != table_->end()) put(static_cast<char32_t>(at - table_->begin()));
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
