#include "print/guess_text.h"

#include <algorithm>
#include <bit>
#include <string>
#include <vector>

namespace stationer::print {
namespace {

std::uint8_t byte_of(char character) {
  return static_cast<std::uint8_t>(character);
}

bool is_ascii_letter(char character) {
  return (character >= 'A' && character <= 'Z') || (character >= 'a' && character <= 'z');
}

bool is_valid_utf_8(std::string_view text) {
  Decoder decoder(Charset::utf_8);
  for (const char each : text) {
    const Decoder::Characters characters = decoder.put(byte_of(each));
    if (std::find(characters.at.begin(), characters.at.begin() + characters.count,
                  replacement_character) != characters.at.begin() + characters.count) {
      return false;
    }
  }
  return true;
}

// Eight-bit text seldom has all its bytes of one parity; or bit 8 on all of them.
bool has_parity(std::string_view text) {
  constexpr std::size_t least = 32;
  if (text.size() < least) return false;
  const auto all = [text](auto is) {
    return std::all_of(text.begin(), text.end(), [&](char each) { return is(byte_of(each)); });
  };
  return all([](std::uint8_t byte) { return byte >= 0x80; }) ||
         all([](std::uint8_t byte) { return std::popcount(byte) % 2 == 0; }) ||
         all([](std::uint8_t byte) { return std::popcount(byte) % 2 == 1; });
}

// Where code page 850 has letters and 437 has lines or Greek.
bool is_letter_of_850(std::uint8_t byte) {
  constexpr std::string_view letters =
      "\xB5\xB6\xB7\xC6\xC7\xD0\xD1\xD2\xD3\xD4\xD6\xD7\xD8\xDE\xE0\xE2\xE3\xE4\xE5\xE9\xEA\xEB";
  return letters.find(static_cast<char>(byte)) != std::string_view::npos;
}

// A code page has letters at 80-A5 and lines at B0-DF, which stand beside each other; ISO 8859 has
// nothing at 80-9F, and letters at C0-FF, which stand beside those of ASCII. The first speak most.
std::optional<Charset> guess_charset(std::string_view text) {
  std::size_t page = 0;
  std::size_t iso = 0;
  std::size_t of_850 = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const std::uint8_t byte = byte_of(text[i]);
    if (byte < 0x80) continue;
    const char before = i == 0 ? ' ' : text[i - 1];
    const char after = i + 1 == text.size() ? ' ' : text[i + 1];
    const bool in_a_word = is_ascii_letter(before) || is_ascii_letter(after);
    const auto is_line = [](std::uint8_t each) { return each >= 0xB0 && each <= 0xDF; };
    if (byte < 0xA0) {
      page += in_a_word ? 3 : 2;
    } else if (is_line(byte) && (is_line(byte_of(before)) || is_line(byte_of(after)))) {
      ++page;
    } else if (byte >= 0xC0 && in_a_word) {
      ++iso;
    }
    if (in_a_word && is_letter_of_850(byte)) ++of_850;
  }
  if (page > iso) return of_850 > 0 ? Charset::cp850 : Charset::cp437;
  if (iso > page) return Charset::iso_8859_1;
  return std::nullopt;
}

LineEnd guess_line_end(std::string_view text) {
  std::size_t lf = 0;
  std::size_t cr = 0;
  std::size_t both = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool after_cr = i > 0 && text[i - 1] == '\r';
    if (text[i] == '\n') ++(after_cr ? both : lf);
    // One at the end may go on with a line feed, one before another is padding.
    if (text[i] == '\r' && i + 1 < text.size() && text[i + 1] != '\n' && text[i + 1] != '\r') ++cr;
  }
  if (both >= lf && both >= cr && both > 0) return LineEnd::cr_lf;
  if (lf >= cr && lf > 0) return LineEnd::lf;
  return cr > 0 ? LineEnd::cr : LineEnd::none;
}

// The complete ones.
std::vector<std::string_view> lines_of(std::string_view text) {
  std::vector<std::string_view> lines;
  for (auto end = text.find('\n'); end != std::string_view::npos; end = text.find('\n')) {
    std::string_view line = text.substr(0, end);
    text.remove_prefix(end + 1);
    while (!line.empty() && line.back() == '\r') line.remove_suffix(1);
    lines.push_back(line);
  }
  return lines;
}

// Whether a record may have been struck over the one before: where both show something it is the
// same, or an underscore. `struck` counts such places.
bool fits_over(std::string_view over, std::string_view before, std::size_t& struck) {
  for (std::size_t i = 0; i < over.size(); ++i) {
    const char below = i < before.size() ? before[i] : ' ';
    if (over[i] == ' ' || (below == ' ' && over[i] != '_')) continue;
    if (over[i] != '_' && over[i] != below) return false;
    ++struck;
  }
  return true;
}

// Whether what follows a 0 or a 1 is a heading, not the rest of a number or of an item in a list.
bool is_heading(std::string_view rest) {
  if (rest.starts_with("  ")) return true;
  return !rest.empty() && ((rest[0] >= 'A' && rest[0] <= 'Z') || rest[0] == '*' || rest[0] == '=');
}

}  // namespace

TextGuess guess_text(std::string_view text) {
  TextGuess out;
  out.above_7f = std::any_of(text.begin(), text.end(), [](char c) { return byte_of(c) >= 0x80; });
  if (out.above_7f) {
    out.parity = has_parity(text);
    if (out.parity) {
      std::string seven(text);
      for (char& each : seven) each = static_cast<char>(each & 0x7F);
      out.line_end = guess_line_end(seven);
      return out;
    }
    out.charset = is_valid_utf_8(text) ? Charset::utf_8 : guess_charset(text);
  }
  out.line_end = guess_line_end(text);
  return out;
}

bool is_listing(std::string_view text) {
  constexpr std::size_t least_lines = 5;
  constexpr std::size_t least_struck = 3;
  const std::vector<std::string_view> lines = lines_of(text);
  if (lines.size() < least_lines) return false;
  std::size_t struck = 0;
  std::size_t moves = 0;
  std::size_t blank = 0;
  std::string_view before;
  for (const std::string_view line : lines) {
    const char control = line.empty() ? ' ' : line[0];
    const std::string_view rest = line.substr(line.empty() ? 0 : 1);
    switch (control) {
      case ' ': ++blank; break;
      case '0':
      case '1':
        if (!is_heading(rest)) return false;
        ++moves;
        break;
      case '-':
        if (rest.empty() || !is_ascii_letter(rest[0])) return false;
        break;
      case '+':
        if (!fits_over(rest, before, struck)) return false;
        continue;
      default: return false;
    }
    before = rest;
  }
  if (blank * 3 < lines.size()) return false;
  return struck >= least_struck || (lines[0].starts_with('1') && moves >= 2);
}

FirstColumns first_columns(std::string_view text) {
  FirstColumns out;
  for (const std::string_view line : lines_of(text)) {
    ++out.lines;
    if (!line.empty() && std::string_view(" 01+-").find(line[0]) == std::string_view::npos) {
      ++out.odd;
    }
  }
  return out;
}

}  // namespace stationer::print
