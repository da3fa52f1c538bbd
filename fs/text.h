// UTF-8 and case folding. The only place that knows the Unicode tables.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace stationer::fs {

// True for well-formed UTF-8 (Unicode 15, table 3-7): no overlong forms, no surrogates.
bool is_utf8(std::string_view text);

// The form in which names are compared: decomposed, full case folding (Unicode CaseFolding.txt,
// statuses C and F, never T), composed. Two names are the same when their folded forms are.
// `text` must be UTF-8.
std::string fold(std::string_view text);

// The form in which passwords are compared: compatibility forms unified (NFKC), case folded, spaces
// around dropped, so that what was set on one keyboard can be typed on a capitals-only one.
std::string fold_password(std::string_view text);

bool is_ascii(std::string_view text);

// Lower-cases A-Z only.
std::string ascii_lower(std::string_view text);
std::string ascii_upper(std::string_view text);

// `text` cut to at most `bytes` bytes, never inside a character.
std::string_view clip(std::string_view text, std::size_t bytes);

// A whole number written in digits and nothing else; nothing when it is not, or is too large.
std::optional<std::uint32_t> whole_number(std::string_view digits);

// The number of Unicode characters (code points).
std::size_t characters(std::string_view text);

// Calls use(code_point) for each character. `text` must be UTF-8.
template <class Use>
void each_character(std::string_view text, Use use) {
  for (std::size_t at = 0; at < text.size();) {
    const auto lead = static_cast<unsigned char>(text[at]);
    const std::size_t length = lead < 0x80 ? 1 : lead < 0xE0 ? 2 : lead < 0xF0 ? 3 : 4;
    char32_t point = length == 1 ? lead : lead & (0x7Fu >> length);
    for (std::size_t i = 1; i < length && at + i < text.size(); ++i) {
      point = point << 6 | (static_cast<unsigned char>(text[at + i]) & 0x3Fu);
    }
    use(point);
    at += length;
  }
}

}  // namespace stationer::fs
