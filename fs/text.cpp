#include "fs/text.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cstdlib>
#include <memory>
#include <new>

#include <utf8proc.h>

#include "fs/plain_letters.h"

namespace stationer::fs {
namespace {

std::string map(std::string_view text, utf8proc_option_t options) {
  utf8proc_uint8_t* out = nullptr;
  const auto length = utf8proc_map(reinterpret_cast<const utf8proc_uint8_t*>(text.data()),
                                   static_cast<utf8proc_ssize_t>(text.size()), &out, options);
  const std::unique_ptr<utf8proc_uint8_t, decltype(&std::free)> owned(out, &std::free);
  if (length == UTF8PROC_ERROR_NOMEM) throw std::bad_alloc();
  if (length < 0) return std::string(text);
  return {reinterpret_cast<const char*>(out), static_cast<std::size_t>(length)};
}

char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c;
}
char upper(char c) {
  return c >= 'a' && c <= 'z' ? static_cast<char>(c - 32) : c;
}

std::string each(std::string_view text, char (*change)(char)) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(), change);
  return out;
}

}  // namespace

bool is_utf8(std::string_view text) {
  auto at = reinterpret_cast<const utf8proc_uint8_t*>(text.data());
  auto left = static_cast<utf8proc_ssize_t>(text.size());
  while (left > 0) {
    utf8proc_int32_t point = 0;
    const auto used = utf8proc_iterate(at, left, &point);
    if (used <= 0) return false;
    at += used;
    left -= used;
  }
  return true;
}

bool is_ascii(std::string_view text) {
  return std::all_of(text.begin(), text.end(),
                     [](char c) { return static_cast<unsigned char>(c) < 0x80; });
}

std::string ascii_lower(std::string_view text) {
  return each(text, lower);
}
std::string ascii_upper(std::string_view text) {
  return each(text, upper);
}

std::string fold(std::string_view text) {
  if (is_ascii(text)) return ascii_lower(text);
  // Folding does not keep a text normalised, hence decomposing before and composing after.
  const std::string folded =
      map(map(text, UTF8PROC_DECOMPOSE), static_cast<utf8proc_option_t>(UTF8PROC_CASEFOLD));
  return map(folded, static_cast<utf8proc_option_t>(UTF8PROC_COMPOSE | UTF8PROC_STABLE));
}

std::string fold_password(std::string_view text) {
  std::string folded =
      is_ascii(text)
          ? ascii_lower(text)
          : map(text, static_cast<utf8proc_option_t>(UTF8PROC_CASEFOLD | UTF8PROC_COMPAT |
                                                     UTF8PROC_COMPOSE | UTF8PROC_STABLE));
  const auto first = folded.find_first_not_of(' ');
  if (first == std::string::npos) return "";
  return folded.substr(first, folded.find_last_not_of(' ') - first + 1);
}

std::string plain_letters(std::string_view text) {
  if (is_ascii(text)) return ascii_lower(text);
  const std::string folded =
      map(text,
          static_cast<utf8proc_option_t>(UTF8PROC_DECOMPOSE | UTF8PROC_COMPAT | UTF8PROC_STRIPMARK |
                                         UTF8PROC_CASEFOLD | UTF8PROC_IGNORE | UTF8PROC_STABLE));
  // Letters of Latin alphabets that have no decomposition.
  static constexpr std::array<std::pair<std::string_view, std::string_view>, 11> letters = {
      {{"æ", "ae"},
       {"œ", "oe"},
       {"ø", "o"},
       {"ł", "l"},
       {"đ", "d"},
       {"ð", "d"},
       {"þ", "th"},
       {"ħ", "h"},
       {"ı", "i"},
       {"ŧ", "t"},
       {"ŋ", "n"}}};
  std::string out;
  for (std::size_t at = 0; at < folded.size();) {
    const std::string_view left = std::string_view(folded).substr(at);
    const auto* letter = std::find_if(letters.begin(), letters.end(), [&](const auto& each) {
      return left.starts_with(each.first);
    });
    if (letter == letters.end()) {
      out += folded[at++];
    } else {
      out += letter->second;
      at += letter->first.size();
    }
  }
  return out;
}

std::optional<std::uint32_t> whole_number(std::string_view digits) {
  std::uint32_t number = 0;
  const char* end = digits.data() + digits.size();
  const auto read = std::from_chars(digits.data(), end, number);
  if (read.ec != std::errc() || read.ptr != end) return std::nullopt;
  return number;
}

std::string_view clip(std::string_view text, std::size_t bytes) {
  if (text.size() <= bytes) return text;
  while (bytes > 0 && (static_cast<unsigned char>(text[bytes]) & 0xC0u) == 0x80) --bytes;
  return text.substr(0, bytes);
}

std::size_t characters(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0u) != 0x80;
  }));
}

}  // namespace stationer::fs
