#include "print/pdf_font.h"

#include <algorithm>

#include <fmt/format.h>

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

// Whether text may hold it: no control codes, no halves of surrogate pairs, and none of the values
// that a ToUnicode map must not have (ISO 19005-2 section 6.2.11.7).
bool is_text(char32_t character) {
  return character >= 0x20 && (character < 0x7F || character > 0x9F) &&
         (character < 0xD800 || character > 0xDFFF) && character < 0x110000 &&
         character != 0xFEFF && (character & 0xFFFE) != 0xFFFE;
}

std::string outline_name(PdfFonts::Face face, Glyph glyph) {
  return fmt::format("{}{}", PdfFonts::name(face), glyph);
}

// One line of a CMap: so many codes in a row stand for so many values in a row.
struct Range {
  std::size_t first = 0;
  std::size_t count = 0;
  std::uint32_t value = 0;
};

// A row may not run over the end of a code's last byte, nor a value's (PDF Reference 1.7 section
// 5.9.2).
void append(std::vector<Range>& ranges, std::size_t code, std::uint32_t value) {
  if (!ranges.empty()) {
    Range& last = ranges.back();
    if (last.first + last.count == code && last.value + last.count == value && (code & 0xFF) != 0 &&
        (value & 0xFF) != 0 && value < 0x10000) {
      ++last.count;
      return;
    }
  }
  ranges.push_back({code, 1, value});
}

std::string code_text(std::size_t code) {
  return code < 0x80 ? fmt::format("<{:02X}>", code) : fmt::format("<{:04X}>", code);
}

constexpr std::string_view code_spaces = "2 begincodespacerange\n<00> <7F>\n<8000> <FFFF>\n";

// A CMap (Adobe Technical Note 5014) with the given lines.
template <class Value>
std::string cmap(std::string_view name, std::string_view ordering, std::string_view entry,
                 const std::vector<Range>& ranges, Value value) {
  std::string out = fmt::format(
      "/CIDInit /ProcSet findresource begin\n"
      "12 dict begin\n"
      "begincmap\n"
      "/CIDSystemInfo 3 dict dup begin\n"
      "/Registry (Adobe) def /Ordering ({1}) def /Supplement 0 def\n"
      "end def\n"
      "/CMapName /{0} def\n"
      "/CMapType {2} def\n"
      "/WMode 0 def\n"
      "{3}endcodespacerange\n",
      name, ordering, ordering == "UCS" ? 2 : 1, code_spaces);
  constexpr std::size_t most_in_a_block = 100;
  for (std::size_t at = 0; at < ranges.size();) {
    const std::size_t count = std::min(ranges.size() - at, most_in_a_block);
    out += fmt::format("{} begin{}range\n", count, entry);
    for (std::size_t end = at + count; at < end; ++at) {
      const Range& range = ranges[at];
      out += fmt::format("{} {} {}\n", code_text(range.first),
                         code_text(range.first + range.count - 1), value(range.value));
    }
    out += fmt::format("end{}range\n", entry);
  }
  return out + "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n";
}

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
}

PdfFonts::Character& PdfFonts::find_other(char32_t character) {
  if (!is_text(character)) character = U'\uFFFD';
  const auto known = others_.find(character);
  if (known != others_.end()) return characters_[known->second];
  const std::size_t next = characters_.size() - ascii_count;
  if (next == most_codes) return characters_[ascii_count];
  others_[character] = characters_.size();
  add(character, first_other + next);
  return characters_.back();
}

std::string PdfFonts::use_outline(Cell cell) {
  const Character& character = find(cell.character);
  const Face face = face_of(character, cell.style);
  const Glyph glyph = character.glyphs[index(face)];
  outlines_.emplace(face, glyph);
  return outline_name(face, glyph);
}

std::string PdfFonts::write(PdfFile& file) const {
  const int to_unicode = file.reserve();
  std::vector<Range> ranges;
  for (const Character& character : characters_) {
    if (character.used[0] || character.used[1]) {
      append(ranges, character.code, character.character);
    }
  }
  file.stream(to_unicode, "",
              cmap("Stationer-UCS", "UCS", "bf", ranges, [](std::uint32_t character) {
                std::string out = "<";
                append_utf_16(out, character);
                return out += ">";
              }));

  std::string resources = "<<";
  std::string fonts;
  for (const Face face : {Face::regular, Face::bold}) {
    fonts += write_face(file, face, to_unicode);
  }
  if (!fonts.empty()) resources += "/Font<<" + fonts + ">>";
  if (!outlines_.empty()) {
    resources += "/XObject<<";
    for (const auto& [face, glyph] : outlines_) {
      const Metrics& m = metrics();
      const int form = file.reserve();
      file.stream(form,
                  fmt::format("/Type/XObject/Subtype/Form/BBox[{} {} {} {}]"
                              "/Matrix[.001 0 0 .001 0 0]/Resources<<>>",
                              m.left, m.bottom, m.right, m.top),
                  typeface(fonts_, face).outline(glyph) + "f\n");
      resources += outline_name(face, glyph) + " " + reference(form);
    }
    resources += ">>";
  }
  return resources + ">>";
}

// Gives the entry for the resource dictionary; nothing if the face wasn't used.
std::string PdfFonts::write_face(PdfFile& file, Face face, int to_unicode) const {
  std::vector<Glyph> glyphs;
  for (const Character& character : characters_) {
    if (character.used[index(face)]) glyphs.push_back(character.glyphs[index(face)]);
  }
  if (glyphs.empty()) return {};

  const Typeface& from = typeface(fonts_, face);
  const Subset subset = from.subset(glyphs);
  std::vector<Range> ranges;
  auto new_glyph = subset.new_glyphs.begin();
  for (const Character& character : characters_) {
    if (character.used[index(face)]) append(ranges, character.code, *new_glyph++);
  }
  const std::string name = subset_tag(subset.program) + "+" + from.name();
  const std::string cmap_name = face == Face::bold ? "Stationer-Bold" : "Stationer-Regular";
  const std::string system = "/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)/Supplement 0>>";
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
  const int descendant = file.reserve();
  file.object(descendant, fmt::format("<</Type/Font/Subtype/CIDFontType2/BaseFont/{}{}"
                                      "/FontDescriptor {}/DW {}/CIDToGIDMap/Identity>>",
                                      name, system, reference(descriptor), m.advance));
  const int encoding = file.reserve();
  file.stream(encoding, fmt::format("/Type/CMap/CMapName/{}{}/WMode 0", cmap_name, system),
              cmap(cmap_name, "Identity", "cid", ranges,
                   [](std::uint32_t glyph) { return fmt::to_string(glyph); }));
  const int font = file.reserve();
  file.object(font, fmt::format("<</Type/Font/Subtype/Type0/BaseFont/{}-{}/Encoding {}"
                                "/DescendantFonts[{}]/ToUnicode {}>>",
                                name, cmap_name, reference(encoding), reference(descendant),
                                reference(to_unicode)));
  return std::string(PdfFonts::name(face)) + " " + reference(font);
}

}  // namespace stationer::print
