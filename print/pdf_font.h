// The fonts of one printout: which codes its text is written in, and the objects that explain them
// (ISO 32000-1 section 9.7: Type 0 fonts; 9.10: text extraction).
//
// Both faces share one code for each character. ASCII is its own code of one byte, which keeps
// pages small; every other character gets a code of two bytes, from 8000 up, as it turns up. A CMap
// in the file maps codes to glyphs, and another one back to Unicode.
//
// A character that the face lacks shows as a box but keeps its own code, so that a search finds it.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <set>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include "print/font_subset.h"
#include "print/page.h"
#include "print/pdf_file.h"

namespace stationer::print {

class PdfFonts {
 public:
  // `fonts` must outlive it.
  explicit PdfFonts(const Fonts& fonts);

  enum class Face : std::uint8_t { regular, bold };

  struct Code {
    std::uint16_t value = 0;  // below 0x80 one byte, otherwise two
    Face face = Face::regular;
    bool missing = false;  // shown as a box
  };

  // How text shows a character; from then on it is part of the file's fonts.
  Code use(Cell cell) {
    const std::size_t number = find(cell.character);
    const Character& character = characters_[number];
    const Face face = face_of(character, cell.style);
    used_[number][static_cast<std::size_t>(face)] = true;
    return {character.code, face, character.missing};
  }

  // The same for nearly all there is: ASCII that both faces have and that is its own code, also as
  // part of a string. False for anything else; `face` is the one that the style asks for.
  bool use_plain(char32_t character, Face face) {
    if (character >= plain_.size() || !plain_[character]) return false;
    used_[character - first_ascii][static_cast<std::size_t>(face)] = true;
    return true;
  }
  static Face face_of(Style style) { return has(style, Style::bold) ? Face::bold : Face::regular; }

  // A form that paints a character's outline, one em to the unit.
  using Outline = std::pair<Face, Glyph>;
  Outline use_outline(Cell cell);
  static std::string name(Outline outline);

  static std::string_view name(Face face) { return face == Face::bold ? "/B" : "/R"; }

  const Metrics& metrics() const { return fonts_.regular.metrics(); }

  // The XObject entries of some forms, for a page that has a resource dictionary of its own.
  std::string entries(PdfFile& file, const std::set<Outline>& outlines);
  // The number of the font dictionary, for the same.
  int dictionary(PdfFile& file);

  // Writes what was used; gives the entries of the resource dictionary that all other pages share,
  // with further fonts and forms in it.
  std::string write(PdfFile& file, std::string_view more_fonts = {},
                    std::string_view more_forms = {});

 private:
  struct Character {
    char32_t character = 0;
    std::uint16_t code = 0;
    std::array<Glyph, 2> glyphs{};  // by face: its own, or the box
    bool missing = false;
    bool in_bold = false;
  };

  static constexpr char32_t first_ascii = U' ';
  static constexpr char32_t last_ascii = U'~';
  static constexpr std::size_t ascii_count = last_ascii - first_ascii + 1;

  static Face face_of(const Character& character, Style style) {
    const bool bold = character.in_bold && (has(style, Style::bold) || character.glyphs[0] == 0);
    return bold ? Face::bold : Face::regular;
  }
  std::size_t find(char32_t character) {
    return character >= first_ascii && character <= last_ascii ? character - first_ascii
                                                               : find_other(character);
  }
  std::size_t find_other(char32_t character);
  void add(char32_t character, std::size_t code);

  struct Shared {  // the objects both faces refer to
    int encoding = 0;
    int to_unicode = 0;
  };
  static int object_of(PdfFile& file, int& number);
  std::string write_faces(PdfFile& file) const;
  std::string write_face(PdfFile& file, Face face, const Shared& shared) const;

  const Fonts& fonts_;
  std::vector<Character> characters_;      // by code: ASCII's printing characters, then the others
  std::vector<std::array<bool, 2>> used_;  // the same, by face
  std::array<bool, last_ascii + 1> plain_{};  // by character
  std::unordered_map<char32_t, std::size_t> others_;
  std::map<Outline, int> outlines_;  // to their objects; 0: none yet
  int dictionary_ = 0;               // 0: none needed
};

}  // namespace stationer::print
