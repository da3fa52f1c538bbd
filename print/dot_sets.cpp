#include "print/dot_sets.h"

#include <algorithm>
#include <string_view>

#include "print/charset.h"

namespace stationer::print {
namespace {

constexpr std::array<std::uint8_t, 12> national_places = {0x23, 0x24, 0x40, 0x5B, 0x5C, 0x5D,
                                                          0x5E, 0x60, 0x7B, 0x7C, 0x7D, 0x7E};

// ESC R 0-13 and 64. Several differ from the registered sets of ISO 646 (print/charset.h): France,
// the United Kingdom, Italy, Spain, Japan and Norway. Korea is from memory.
constexpr std::array<std::u16string_view, 14> nations = {
    u"#$@[\\]^`{|}~",  // USA
    u"#$à°ç§^`éùè¨",   // France
    u"#$§ÄÖÜ^`äöüß",   // Germany
    u"£$@[\\]^`{|}~",  // United Kingdom
    u"#$@ÆØÅ^`æøå~",   // Denmark
    u"#¤ÉÄÖÅÜéäöåü",   // Sweden
    u"#$@°\\é^ùàòèì",  // Italy
    u"₧$@¡Ñ¿^`¨ñ}~",   // Spain
    u"#$@[¥]^`{|}~",   // Japan
    u"#¤ÉÆØÅÜéæøåü",   // Norway
    u"#$ÉÆØÅÜéæøåü",   // Denmark, the second
    u"#$á¡Ñ¿é`íñóú",   // Spain, the second
    u"#$á¡Ñ¿éüíñóú",   // Latin America
    u"#$@[₩]^`{|}~",   // Korea
};
constexpr std::u16string_view legal = u"#$§°’”¶`©®†™";
constexpr std::uint8_t legal_number = 64;

std::u16string_view nation(std::uint8_t number) {
  return number == legal_number ? legal : nations[number];
}

// 00-1F where they print, and 80-9F slanted: letters of all nations in the italic table (from
// memory), signs in the code pages (the mapping of their graphics to Unicode).
constexpr std::array<char16_t, 32> letters_below = {
    u'à', u'è', u'ù', u'ò', u'ì', u'°', u'£', u'¡', u'¿', u'Ñ', u'ñ', u'¤', u'₧', u'Å', u'å', u'ç',
    u'§', u'ß', u'Æ', u'æ', u'Ø', u'ø', u'¨', u'Ä', u'Ö', u'Ü', u'ä', u'ö', u'ü', u'É', u'é', u'¥'};
constexpr std::array<char16_t, 32> signs_below = {
    u' ',      u'\u263A', u'\u263B', u'\u2665', u'\u2666', u'\u2663', u'\u2660', u'\u2022',
    u'\u25D8', u'\u25CB', u'\u25D9', u'\u2642', u'\u2640', u'\u266A', u'\u266B', u'\u263C',
    u'\u25BA', u'\u25C4', u'\u2195', u'\u203C', u'\u00B6', u'\u00A7', u'\u25AC', u'\u21A8',
    u'\u2191', u'\u2193', u'\u2192', u'\u2190', u'\u221F', u'\u2194', u'\u25B2', u'\u25BC'};
constexpr char16_t sign_of_7f = u'\u2302';

struct Assignable {
  std::uint8_t table;
  std::uint8_t page;
  DotTable means;
};

// What ESC ( t calls them (ESC/P Reference Manual R-16; its table has 863 where its text has 865).
constexpr std::array<Assignable, 6> pages = {{{0, 0, DotTable::italic},
                                              {1, 0, DotTable::cp437},
                                              {3, 0, DotTable::cp850},
                                              {8, 0, DotTable::cp863},
                                              {9, 0, DotTable::cp865},
                                              {112, 0, DotTable::ocr_b}}};

Charset charset_of(DotTable table) {
  switch (table) {
    case DotTable::cp437: return Charset::cp437;
    case DotTable::cp850: return Charset::cp850;
    case DotTable::cp863: return Charset::cp863;
    case DotTable::cp865: return Charset::cp865;
    case DotTable::italic:
    case DotTable::ocr_b:
    case DotTable::downloaded: break;
  }
  return Charset::ascii;
}

}  // namespace

bool is_national_set(std::uint8_t number) {
  return number < nations.size() || number == legal_number;
}

DotSets::DotSets(DotTable table, std::uint8_t national)
    : slots_{DotTable::italic, table == DotTable::italic ? DotTable::cp437 : table,
             DotTable::downloaded, DotTable::cp437},
      slot_(table == DotTable::italic ? 0 : 1),
      national_(national) {
  make_table();
}

void DotSets::make_table() {
  const DotTable table = slots_[slot_];
  Decoder decoder(charset_of(table));
  for (unsigned code = 0; code < table_.size(); ++code) {
    table_[code] = {decoder.put(static_cast<std::uint8_t>(code)).at[0]};
  }
  const bool italic = table == DotTable::italic;
  for (std::size_t code = 0; code < 0x20; ++code) {
    table_[code] = {italic ? letters_below[code] : signs_below[code]};
  }
  table_[0x7F] = {sign_of_7f};
  const std::u16string_view own = nation(national_);
  for (std::size_t i = 0; i < own.size(); ++i) table_[national_places[i]] = {own[i]};
  if (!italic && table != DotTable::downloaded) return;
  for (std::size_t code = 0; code < 0x80; ++code) {
    table_[0x80 + code] = {table_[code].character, italic};
  }
  if (italic) table_[0x7F] = table_[0xFF] = {replacement_character};
}

bool DotSets::choose_national(std::uint8_t number) {
  if (!is_national_set(number)) return false;
  national_ = number;
  make_table();
  return true;
}

bool DotSets::select(std::uint8_t slot) {
  if (slot >= slots_.size()) return false;
  slot_ = slot;
  make_table();
  return true;
}

bool DotSets::assign(std::uint8_t slot, std::uint8_t table, std::uint8_t page) {
  const auto found = std::find_if(pages.begin(), pages.end(), [=](const Assignable& each) {
    return each.table == table && each.page == page;
  });
  if (slot >= slots_.size() || found == pages.end()) return false;
  slots_[slot] = found->means;
  make_table();
  return true;
}

}  // namespace stationer::print
