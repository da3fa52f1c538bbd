#include "server/terminal/station_text.h"

#include <utility>

namespace stationer::server {
namespace {

constexpr char32_t tab = 0x09;
constexpr char32_t form_feed = 0x0C;
constexpr char32_t substitute = 0x1A;
constexpr char32_t byte_order_mark = 0xFEFF;

bool is_control(char32_t c) {
  return c < 0x20 || (c >= 0x7F && c < 0xA0);
}

}  // namespace

TextToStation::TextToStation(const Screen& screen, LineEnding ending)
    : encoder_(screen.charset, screen.capitals), ending_(bytes_of(ending)) {}

void TextToStation::put(char32_t character, std::string& out) {
  const bool second_half = std::exchange(after_cr_, character == U'\r') && character == U'\n';
  if (second_half || character == byte_order_mark) return;
  if (character == U'\r' || character == U'\n') {
    out += ending_;
  } else if (character == tab || character == form_feed) {
    out += static_cast<char>(character);
  } else if (!is_control(character)) {
    encoder_.append(encoder_.shown(character), out);
  }
}

std::string TextToStation::feed(std::string_view piece) {
  std::string out;
  for (const char byte : piece) {
    const auto characters = decoder_.put(static_cast<std::uint8_t>(byte));
    for (unsigned i = 0; i < characters.count; ++i) put(characters.at[i], out);
  }
  return out;
}

std::string TextToStation::finish() {
  std::string out;
  const auto characters = decoder_.finish();
  for (unsigned i = 0; i < characters.count; ++i) put(characters.at[i], out);
  return out;
}

void TextFromStation::put(char32_t character, std::string& out) {
  ended_ = ended_ || character == substitute;
  if (ended_) return;
  const bool second_half = std::exchange(after_cr_, character == U'\r') && character == U'\n';
  if (second_half || character == 0) return;
  utf_8_.append(character == U'\r' ? U'\n' : character, out);
}

std::string TextFromStation::feed(std::string_view piece) {
  std::string out;
  for (const char byte : piece) {
    const auto characters = decoder_.put(static_cast<std::uint8_t>(byte));
    for (unsigned i = 0; i < characters.count; ++i) put(characters.at[i], out);
  }
  return out;
}

std::string TextFromStation::finish() {
  std::string out;
  const auto characters = decoder_.finish();
  for (unsigned i = 0; i < characters.count; ++i) put(characters.at[i], out);
  return out;
}

}  // namespace stationer::server
