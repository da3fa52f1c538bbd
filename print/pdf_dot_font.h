// The fonts of a printout in the dot look: Type 3 (ISO 32000-1 section 9.6.5), whose glyphs are the
// dots that needles strike. The text stays text: each font has a map back to Unicode.
//
// Needles don't grow with a cell, so every size of cell has a font of its own, and so has every
// style. Codes have one byte: ASCII is itself, other characters get codes in further fonts as they
// turn up. Glyphs are written at the end, those that were used.
//
// Bounded: beyond 32 sizes of cells, a cell's glyphs are those of another size, stretched to its
// pitch; beyond some 900 characters that aren't ASCII, they show as the replacement character.
#pragma once

#include <bitset>
#include <cstdint>
#include <map>
#include <string>
#include <tuple>
#include <unordered_map>
#include <vector>

#include "print/dot_glyph.h"
#include "print/page.h"
#include "print/pdf_file.h"

namespace stationer::print {

class PdfDotFonts {
 public:
  // `fonts` must outlive it.
  PdfDotFonts(const Fonts& fonts, PrintHead head) : glyphs_(fonts, head) {}

  // The size of type for cells of so many u: readers then find glyphs as wide for their size as
  // those of the typeface. A font's own unit is one u.
  static double em(Units pitch);

  struct Code {
    std::uint8_t value = 0;
    unsigned font = 0;
    Units pitch = 0;       // of the font
    bool missing = false;  // shown as a box
  };

  // How text shows a character; from then on it is part of the file's fonts.
  Code use(Cell cell, CellSize size);

  static std::string name(unsigned font);

  Units needle() const { return print::needle(glyphs_.head()); }

  // Operators that strike a character's dots, in u from the left end of its baseline.
  std::string shape(Cell cell, CellSize size) const;

  // Writes what was used; gives the entries of the font dictionary.
  std::string write(PdfFile& file) const;

 private:
  struct Font {
    CellSize size;
    Style style;
    unsigned table = 0;
    std::bitset<256> used;
  };

  static constexpr unsigned first_code = 0x20;
  static constexpr unsigned codes_in_table = 0x100 - first_code;
  static constexpr unsigned most_tables = 5;
  static constexpr std::size_t most_sizes = 32;

  struct Character {
    char32_t character = 0;
    bool missing = false;
  };

  // Table 0 is ASCII; `others_` are those of the tables from 1, in order.
  std::pair<unsigned, unsigned> code_of(char32_t character);
  char32_t character_of(unsigned table, unsigned code) const;
  unsigned size_of(CellSize size);
  unsigned font_of(unsigned size, Style style, unsigned table);
  std::string operators(const std::vector<HeadDot>& dots) const;
  int write_font(PdfFile& file, const Font& font, int encoding, int to_unicode) const;

  DotGlyphs glyphs_;
  std::vector<CellSize> sizes_;
  std::vector<Font> fonts_;
  std::map<std::tuple<unsigned, Style, unsigned>, unsigned> font_numbers_;
  std::vector<Character> others_;
  std::unordered_map<char32_t, unsigned> other_numbers_;

  // The font of the ASCII character before.
  bool again_ = false;
  CellSize last_size_;
  Style last_style_ = Style::plain;
  unsigned last_font_ = 0;
};

}  // namespace stationer::print
