#include "print/pdf_dot_font.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "print/pdf_cmap.h"

namespace stationer::print {
namespace {

constexpr char32_t replacement = U'\uFFFD';

bool is_ascii(char32_t character) {
  return character >= U' ' && character <= U'~';
}

// What makes a difference to the dots.
Style face(Style style) {
  return static_cast<Style>(static_cast<unsigned>(style) &
                            static_cast<unsigned>(Style::bold_italic | Style::unseen));
}

// Letters go by themselves: readers take the width of m for the size of such a font's type.
std::string glyph_name(char32_t character) {
  const bool letter =
      (character >= U'a' && character <= U'z') || (character >= U'A' && character <= U'Z');
  if (letter) return std::string("/") + static_cast<char>(character);
  return fmt::format("/u{:04X}", static_cast<unsigned>(character));
}

}  // namespace

double PdfDotFonts::em(Units pitch) {
  constexpr double advance = 0.602;
  constexpr double precision = 1000;
  return std::round(pitch / (units_per_point * advance) * precision) / precision;
}

std::string PdfDotFonts::name(unsigned font) {
  return fmt::format("/D{}", font);
}

PdfDotFonts::Code PdfDotFonts::use(Cell cell, CellSize size) {
  const Style style = face(cell.style);
  if (is_ascii(cell.character)) {
    if (!again_ || size != last_size_ || style != last_style_) {
      last_font_ = font_of(size_of(size), style, 0);
      last_size_ = size;
      last_style_ = style;
      again_ = true;
    }
    Font& font = fonts_[last_font_];
    font.used.set(cell.character);
    return {static_cast<std::uint8_t>(cell.character), last_font_, font.size.pitch, false};
  }
  const auto [table, code] = code_of(cell.character);
  const unsigned number = font_of(size_of(size), style, table);
  Font& font = fonts_[number];
  font.used.set(code);
  const bool missing = others_[(table - 1) * codes_in_table + code - first_code].missing;
  return {static_cast<std::uint8_t>(code), number, font.size.pitch, missing};
}

std::pair<unsigned, unsigned> PdfDotFonts::code_of(char32_t character) {
  if (!is_text(character)) character = replacement;
  if (others_.empty() && character != replacement) code_of(replacement);
  const auto known = other_numbers_.find(character);
  unsigned number = 0;  // the replacement's
  if (known != other_numbers_.end()) {
    number = known->second;
  } else if (others_.size() < (most_tables - 1) * codes_in_table) {
    number = static_cast<unsigned>(others_.size());
    others_.push_back({character, !glyphs_.has(character)});
    other_numbers_[character] = number;
  }
  return {1 + number / codes_in_table, first_code + number % codes_in_table};
}

char32_t PdfDotFonts::character_of(unsigned table, unsigned code) const {
  if (table == 0) return code;
  return others_[(table - 1) * codes_in_table + code - first_code].character;
}

unsigned PdfDotFonts::size_of(CellSize size) {
  const auto found = std::find(sizes_.begin(), sizes_.end(), size);
  if (found != sizes_.end()) return static_cast<unsigned>(found - sizes_.begin());
  if (sizes_.size() == most_sizes) return most_sizes - 1;
  sizes_.push_back(size);
  return static_cast<unsigned>(sizes_.size() - 1);
}

unsigned PdfDotFonts::font_of(unsigned size, Style style, unsigned table) {
  const auto [at, made] =
      font_numbers_.try_emplace({size, style, table}, static_cast<unsigned>(fonts_.size()));
  if (made) fonts_.push_back({sizes_[size], style, table, {}});
  return at->second;
}

// A dot is a line of no length with round ends.
std::string PdfDotFonts::operators(const std::vector<HeadDot>& dots) const {
  if (dots.empty()) return {};
  std::string out = fmt::format("1 J {} w\n", needle());
  for (const HeadDot& dot : dots) {
    fmt::format_to(std::back_inserter(out), "{0} {1} m {0} {1} l\n", dot.x, dot.y);
  }
  return out + "S\n";
}

std::string PdfDotFonts::shape(Cell cell, CellSize size) const {
  return operators(glyphs_.dots(cell.character, face(cell.style), size));
}

std::string PdfDotFonts::write(PdfFile& file) const {
  std::string entries;
  std::vector<std::pair<int, int>> maps(most_tables);  // encoding and way back, by table
  for (std::size_t i = 0; i < fonts_.size(); ++i) {
    const Font& font = fonts_[i];
    auto& [encoding, to_unicode] = maps[font.table];
    if (encoding == 0) {
      encoding = file.reserve();
      to_unicode = file.reserve();
      std::string names = fmt::format("<</Type/Encoding/Differences[{}", first_code);
      std::vector<std::pair<std::uint16_t, char32_t>> characters;
      for (unsigned code = first_code; code < 0x100; ++code) {
        const bool there = font.table == 0 ? is_ascii(code)
                                           : (font.table - 1) * codes_in_table + code - first_code <
                                                 others_.size();
        if (!there) break;
        names += glyph_name(character_of(font.table, code));
        characters.emplace_back(static_cast<std::uint16_t>(code), character_of(font.table, code));
      }
      file.object(encoding, names + "]>>");
      file.stream(to_unicode, "", unicode_cmap_of_bytes(characters));
    }
    entries += name(static_cast<unsigned>(i)) + " " +
               reference(write_font(file, font, encoding, to_unicode));
  }
  return entries;
}

int PdfDotFonts::write_font(PdfFile& file, const Font& font, int encoding, int to_unicode) const {
  const Units half = (needle() + 1) / 2;
  // The box around all glyphs.
  Units left = 0;
  Units bottom = 0;
  Units right = font.size.pitch;
  Units top = 0;
  std::string procedures;
  for (unsigned code = first_code; code < 0x100; ++code) {
    if (!font.used.test(code)) continue;
    const char32_t character = character_of(font.table, code);
    const std::vector<HeadDot> dots = glyphs_.dots(character, font.style, font.size);
    const auto [min_x, max_x] = std::minmax_element(
        dots.begin(), dots.end(), [](const HeadDot& a, const HeadDot& b) { return a.x < b.x; });
    const auto [min_y, max_y] = std::minmax_element(
        dots.begin(), dots.end(), [](const HeadDot& a, const HeadDot& b) { return a.y < b.y; });
    std::string glyph = fmt::format("{} 0 ", font.size.pitch);
    if (dots.empty()) {
      glyph += "0 0 0 0 d1\n";
    } else {
      glyph += fmt::format("{} {} {} {} d1\n{}", min_x->x - half, min_y->y - half, max_x->x + half,
                           max_y->y + half, operators(dots));
      left = std::min(left, min_x->x - half);
      bottom = std::min(bottom, min_y->y - half);
      right = std::max(right, max_x->x + half);
      top = std::max(top, max_y->y + half);
    }
    const int procedure = file.reserve();
    file.stream(procedure, "", glyph);
    procedures += glyph_name(character) + " " + reference(procedure);
  }
  unsigned first = first_code;
  unsigned last = 0xFF;
  while (!font.used.test(first)) ++first;
  while (!font.used.test(last)) --last;
  std::string widths;
  for (unsigned code = first; code <= last; ++code) widths += fmt::format("{} ", font.size.pitch);
  widths.pop_back();
  const double unit = 1 / (units_per_point * em(font.size.pitch));
  const int number = file.reserve();
  file.object(number,
              fmt::format("<</Type/Font/Subtype/Type3/FontBBox[{} {} {} {}]"
                          "/FontMatrix[{:.9f} 0 0 {:.9f} 0 0]/CharProcs<<{}>>/Encoding {}"
                          "/FirstChar {}/LastChar {}/Widths[{}]/Resources<<>>/ToUnicode {}>>",
                          left, bottom, right, top, unit, unit, procedures, reference(encoding),
                          first, last, widths, reference(to_unicode)));
  return number;
}

}  // namespace stationer::print
