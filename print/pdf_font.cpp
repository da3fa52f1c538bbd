#include "print/pdf_font.h"

#include <algorithm>

#include <fmt/format.h>

#include "print/pdf_cmap.h"

namespace stationer::print {
namespace {

constexpr std::size_t first_other = 0x8000;
constexpr std::size_t most_codes = 0x8000;

constexpr char32_t box = U'\u25A1';

std::size_t index(PdfFonts::Face face) {
  return static_cast<std::size_t>(face);
}

const Typeface& typeface(const Fonts& fonts, PdfFonts::Face face) {
  return face == PdfFonts::Face::bold ? fonts.bold : fonts.regular;
}

constexpr std::string_view encoding_name = "Stationer";
constexpr std::string_view cid_system =
    "/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)/Supplement 0>>";

// Six capitals that tell this subset from others (ISO 32000-1 section 9.6.4): FNV-1a of the
// program, written in base 26.
std::string subset_tag(std::string_view program) {
  std::uint32_t hash = 2166136261u;
  for (const char byte : program) hash = (hash ^ static_cast<std::uint8_t>(byte)) * 16777619u;
  std::string tag;
  for (int i = 0; i < 6; ++i, hash /= 26) tag += static_cast<char>('A' + hash % 26);
  return tag;
}

}  // namespace

PdfFonts::PdfFonts(const Fonts& fonts) : fonts_(fonts) {
  for (char32_t character = first_ascii; character <= last_ascii; ++character) {
    add(character, character);
    const Character& made = characters_.back();
    plain_[character] = made.in_bold && made.glyphs[index(Face::regular)] != 0 &&
                        character != U'(' && character != U')' && character != U'\\';
  }
  // Always there, so that something stands in when the codes run out.
  add(U'\uFFFD', first_other);
  others_[U'\uFFFD'] = ascii_count;
}

void PdfFonts::add(char32_t character, std::size_t code) {
  Character made;
  made.character = character;
  made.code = static_cast<std::uint16_t>(code);
  made.glyphs = {fonts_.regular.glyph(character), fonts_.bold.glyph(character)};
  made.in_bold = made.glyphs[index(Face::bold)] != 0;
  made.missing = made.glyphs[index(Face::regular)] == 0 && !made.in_bold;
  if (made.missing) made.glyphs = {fonts_.regular.glyph(box), fonts_.bold.glyph(box)};
  characters_.push_back(made);
  used_.emplace_back();
}

std::size_t PdfFonts::find_other(char32_t character) {
  if (!is_text(character)) character = U'\uFFFD';
  const auto known = others_.find(character);
  if (known != others_.end()) return known->second;
  const std::size_t next = characters_.size() - ascii_count;
  if (next == most_codes) return ascii_count;
  others_[character] = characters_.size();
  add(character, first_other + next);
  return characters_.size() - 1;
}

PdfFonts::Outline PdfFonts::use_outline(Cell cell) {
  const Character& character = characters_[find(cell.character)];
  const Face face = face_of(character, cell.style);
  const Outline outline{face, character.glyphs[index(face)]};
  outlines_.emplace(outline, 0);
  return outline;
}

std::string PdfFonts::name(Outline outline) {
  return fmt::format("{}{}", name(outline.first), outline.second);
}

// Reserved when it is first asked for.
int PdfFonts::object_of(PdfFile& file, int& number) {
  if (number == 0) number = file.reserve();
  return number;
}

std::string PdfFonts::entries(PdfFile& file, const std::set<Outline>& outlines) {
  std::string out;
  for (const Outline& outline : outlines) {
    out += name(outline) + " " + reference(object_of(file, outlines_.at(outline)));
  }
  return out;
}

int PdfFonts::dictionary(PdfFile& file) {
  return object_of(file, dictionary_);
}

std::string PdfFonts::write(PdfFile& file, std::string_view more_fonts,
                            std::string_view more_forms) {
  std::string resources;
  const std::string fonts = "<<" + write_faces(file).append(more_fonts) + ">>";
  if (dictionary_ != 0) {
    file.object(dictionary_, fonts);
    resources += "/Font " + reference(dictionary_);
  } else if (fonts.size() > 4) {
    resources += "/Font" + fonts;
  }
  if (!outlines_.empty() || !more_forms.empty()) {
    resources.append("/XObject<<").append(more_forms);
    for (auto& [outline, form] : outlines_) {
      const auto& [face, glyph] = outline;
      const Metrics& m = metrics();
      file.stream(object_of(file, form),
                  fmt::format("/Type/XObject/Subtype/Form/BBox[{} {} {} {}]"
                              "/Matrix[.001 0 0 .001 0 0]/Resources<<>>",
                              m.left, m.bottom, m.right, m.top),
                  typeface(fonts_, face).outline(glyph) + "f\n");
      resources += name(outline) + " " + reference(form);
    }
    resources += ">>";
  }
  return resources;
}

// Gives the entries for the resource dictionary.
std::string PdfFonts::write_faces(PdfFile& file) const {
  // Both faces share the maps from codes to CIDs, which are the codes themselves, and to Unicode.
  std::vector<std::uint16_t> codes;
  std::vector<std::pair<std::uint16_t, char32_t>> to_unicode;
  for (std::size_t i = 0; i < characters_.size(); ++i) {
    if (!used_[i][0] && !used_[i][1]) continue;
    const Character& character = characters_[i];
    codes.push_back(character.code);
    to_unicode.emplace_back(character.code, character.character);
  }
  if (codes.empty()) return {};

  Shared shared;
  shared.to_unicode = file.reserve();
  file.stream(shared.to_unicode, "", unicode_cmap(to_unicode));
  shared.encoding = file.reserve();
  file.stream(shared.encoding,
              fmt::format("/Type/CMap/CMapName/{}{}/WMode 0", encoding_name, cid_system),
              cid_cmap(encoding_name, codes));
  return write_face(file, Face::regular, shared) + write_face(file, Face::bold, shared);
}

// Gives the entry for the resource dictionary; nothing if the face wasn't used.
std::string PdfFonts::write_face(PdfFile& file, Face face, const Shared& shared) const {
  std::vector<Glyph> glyphs;
  std::vector<std::uint16_t> codes;
  for (std::size_t i = 0; i < characters_.size(); ++i) {
    if (!used_[i][index(face)]) continue;
    const Character& character = characters_[i];
    glyphs.push_back(character.glyphs[index(face)]);
    codes.push_back(character.code);
  }
  if (glyphs.empty()) return {};

  const Typeface& from = typeface(fonts_, face);
  const Subset subset = from.subset(glyphs);
  std::string glyph_of_cid(2 * (std::size_t{codes.back()} + 1), '\0');  // codes are in order
  for (std::size_t i = 0; i < codes.size(); ++i) {
    const std::size_t at = std::size_t{2} * codes[i];
    glyph_of_cid[at] = static_cast<char>(subset.new_glyphs[i] >> 8);
    glyph_of_cid[at + 1] = static_cast<char>(subset.new_glyphs[i] & 0xFF);
  }
  const std::string name = subset_tag(subset.program) + "+" + from.name();
  const Metrics& m = from.metrics();

  const int program = file.reserve();
  file.stream(program, fmt::format("/Length1 {}", subset.program.size()), subset.program);
  const int descriptor = file.reserve();
  // Flags (section 9.8.2): 1 fixed pitch, 4 symbolic, which is to say with characters of its own.
  file.object(descriptor,
              fmt::format("<</Type/FontDescriptor/FontName/{}/Flags 5/FontBBox[{} {} {} {}]"
                          "/ItalicAngle 0/Ascent {}/Descent {}/CapHeight {}/StemV {}"
                          "/FontFile2 {}>>",
                          name, m.left, m.bottom, m.right, m.top, m.ascent, m.descent, m.cap_height,
                          m.stem, reference(program)));
  const int map = file.reserve();
  file.stream(map, "", glyph_of_cid);
  const int descendant = file.reserve();
  file.object(descendant,
              fmt::format("<</Type/Font/Subtype/CIDFontType2/BaseFont/{}{}/FontDescriptor {}/DW {}"
                          "/CIDToGIDMap {}>>",
                          name, cid_system, reference(descriptor), m.advance, reference(map)));
  const int font = file.reserve();
  file.object(font, fmt::format("<</Type/Font/Subtype/Type0/BaseFont/{}-{}/Encoding {}"
                                "/DescendantFonts[{}]/ToUnicode {}>>",
                                name, encoding_name, reference(shared.encoding),
                                reference(descendant), reference(shared.to_unicode)));
  return std::string(PdfFonts::name(face)) + " " + reference(font);
}

}  // namespace stationer::print
