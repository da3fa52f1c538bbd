#include "print/charset.h"

#include "print/choice.h"

namespace stationer::print {
namespace {

constexpr std::array<CharsetName, 31> names = {{
    {Charset::ascii, "ascii"},           {Charset::utf_8, "utf-8"},
    {Charset::iso_8859_1, "iso-8859-1"}, {Charset::iso_8859_15, "iso-8859-15"},
    {Charset::cp437, "cp437"},           {Charset::cp850, "cp850"},
    {Charset::cp863, "cp863"},           {Charset::cp865, "cp865"},
    {Charset::iso646_gb, "iso646-gb"},   {Charset::iso646_de, "iso646-de"},
    {Charset::iso646_fr, "iso646-fr"},   {Charset::iso646_fr1, "iso646-fr1"},
    {Charset::iso646_se, "iso646-se"},   {Charset::iso646_se2, "iso646-se2"},
    {Charset::iso646_dk, "iso646-dk"},   {Charset::iso646_no, "iso646-no"},
    {Charset::iso646_no2, "iso646-no2"}, {Charset::iso646_es, "iso646-es"},
    {Charset::iso646_es2, "iso646-es2"}, {Charset::iso646_it, "iso646-it"},
    {Charset::iso646_irv, "iso646-irv"}, {Charset::iso646_jp, "iso646-jp"},
    {Charset::iso646_ca, "iso646-ca"},   {Charset::iso646_ca2, "iso646-ca2"},
    {Charset::iso646_cn, "iso646-cn"},   {Charset::iso646_cu, "iso646-cu"},
    {Charset::iso646_hu, "iso646-hu"},   {Charset::iso646_kr, "iso646-kr"},
    {Charset::iso646_pt, "iso646-pt"},   {Charset::iso646_pt2, "iso646-pt2"},
    {Charset::iso646_yu, "iso646-yu"},
}};

// 80-FF. The last cell of each code page is the no-break space.
constexpr std::u16string_view cp437_high =
    u"ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜ¢£¥₧ƒ"
    u"áíóúñÑªº¿⌐¬½¼¡«»░▒▓│┤╡╢╖╕╣║╗╝╜╛┐"
    u"└┴┬├─┼╞╟╚╔╩╦╠═╬╧╨╤╥╙╘╒╓╫╪┘┌█▄▌▐▀"
    u"αßΓπΣσµτΦΘΩδ∞φε∩≡±≥≤⌠⌡÷≈°∙·√ⁿ²■\u00A0";
constexpr std::u16string_view cp850_high =
    u"ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜø£Ø×ƒ"
    u"áíóúñÑªº¿®¬½¼¡«»░▒▓│┤ÁÂÀ©╣║╗╝¢¥┐"
    u"└┴┬├─┼ãÃ╚╔╩╦╠═╬¤ðÐÊËÈıÍÎÏ┘┌█▄¦Ì▀"
    u"ÓßÔÒõÕµþÞÚÛÙýÝ¯´\u00AD±‗¾¶§÷¸°¨·¹³²■\u00A0";
constexpr std::u16string_view cp863_high =
    u"ÇüéâÂà¶çêëèïî‗À§ÉÈÊôËÏûù¤ÔÜ¢£ÙÛƒ"
    u"¦´óú¨¸³¯Î⌐¬½¼¾«»░▒▓│┤╡╢╖╕╣║╗╝╜╛┐"
    u"└┴┬├─┼╞╟╚╔╩╦╠═╬╧╨╤╥╙╘╒╓╫╪┘┌█▄▌▐▀"
    u"αßΓπΣσµτΦΘΩδ∞φε∩≡±≥≤⌠⌡÷≈°∙·√ⁿ²■\u00A0";
constexpr std::u16string_view cp865_high =
    u"ÇüéâäàåçêëèïîìÄÅÉæÆôöòûùÿÖÜø£Ø₧ƒ"
    u"áíóúñÑªº¿⌐¬½¼¡«¤░▒▓│┤╡╢╖╕╣║╗╝╜╛┐"
    u"└┴┬├─┼╞╟╚╔╩╦╠═╬╧╨╤╥╙╘╒╓╫╪┘┌█▄▌▐▀"
    u"αßΓπΣσµτΦΘΩδ∞φε∩≡±≥≤⌠⌡÷≈°∙·√ⁿ²■\u00A0";
static_assert(cp437_high.size() == 128 && cp850_high.size() == 128 && cp863_high.size() == 128 &&
              cp865_high.size() == 128);

// The twelve places of ISO 646 that nations may fill, and what they put there.
constexpr std::array<std::uint8_t, 12> national_places = {0x23, 0x24, 0x40, 0x5B, 0x5C, 0x5D,
                                                          0x5E, 0x60, 0x7B, 0x7C, 0x7D, 0x7E};

constexpr std::u16string_view national(Charset charset) {
  switch (charset) {
    case Charset::iso646_gb: return u"£$@[\\]^`{|}‾";
    case Charset::iso646_de: return u"#$§ÄÖÜ^`äöüß";
    case Charset::iso646_fr: return u"£$à°ç§^µéùè¨";
    case Charset::iso646_fr1: return u"£$à°ç§^`éùè¨";
    case Charset::iso646_se: return u"#¤@ÄÖÅ^`äöå‾";
    case Charset::iso646_se2: return u"#¤ÉÄÖÅÜéäöåü";
    case Charset::iso646_dk: return u"#$@ÆØÅ^`æøå~";
    case Charset::iso646_no: return u"#$@ÆØÅ^`æøå‾";
    case Charset::iso646_no2: return u"§$@ÆØÅ^`æøå|";
    case Charset::iso646_es: return u"£$§¡Ñ¿^`°ñç~";
    case Charset::iso646_es2: return u"#$•¡ÑÇ¿`´ñç¨";
    case Charset::iso646_it: return u"£$§°çé^ùàòèì";
    case Charset::iso646_irv: return u"#¤@[\\]^`{|}‾";  // from memory
    case Charset::iso646_jp: return u"#$@[¥]^`{|}‾";
    case Charset::iso646_ca: return u"#$àâçêîôéùèû";
    case Charset::iso646_ca2: return u"#$àâçêÉôéùèû";
    case Charset::iso646_cn: return u"#¥@[\\]^`{|}‾";
    case Charset::iso646_cu: return u"#¤@¡Ñ]¿`´ñ[¨";
    case Charset::iso646_hu: return u"#¤ÁÉÖÜ^áéöü˝";
    case Charset::iso646_kr: return u"#$@[₩]^`{|}~";
    case Charset::iso646_pt: return u"#$§ÃÇÕ^`ãçõ°";
    case Charset::iso646_pt2: return u"#$´ÃÇÕ^`ãçõ~";
    case Charset::iso646_yu: return u"#$ŽŠĐĆČžšđćč";
    default: return {};
  }
}

constexpr std::array<char16_t, 256> make_table(Charset charset) {
  std::array<char16_t, 256> table{};
  for (std::size_t byte = 0; byte < 128; ++byte) table[byte] = static_cast<char16_t>(byte);
  const auto replacement = static_cast<char16_t>(replacement_character);
  for (std::size_t byte = 128; byte < 256; ++byte) {
    switch (charset) {
      case Charset::iso_8859_1:
      case Charset::iso_8859_15: table[byte] = static_cast<char16_t>(byte); break;
      case Charset::cp437: table[byte] = cp437_high[byte - 128]; break;
      case Charset::cp850: table[byte] = cp850_high[byte - 128]; break;
      case Charset::cp863: table[byte] = cp863_high[byte - 128]; break;
      case Charset::cp865: table[byte] = cp865_high[byte - 128]; break;
      default: table[byte] = replacement; break;  // in UTF-8 no byte above 7F is a character
    }
  }
  if (charset == Charset::iso_8859_15) {
    table[0xA4] = u'€';
    table[0xA6] = u'Š';
    table[0xA8] = u'š';
    table[0xB4] = u'Ž';
    table[0xB8] = u'ž';
    table[0xBC] = u'Œ';
    table[0xBD] = u'œ';
    table[0xBE] = u'Ÿ';
  }
  const std::u16string_view own = national(charset);
  for (std::size_t i = 0; i < own.size(); ++i) table[national_places[i]] = own[i];
  return table;
}

}  // namespace

std::span<const CharsetName> charsets() {
  return names;
}

std::string_view name_of(Charset charset) {
  for (const CharsetName& entry : names) {
    if (entry.charset == charset) return entry.name;
  }
  return {};
}

fs::Result<Charset> find_charset(std::string_view name) {
  const fs::Result<CharsetName> found = choose(charsets(), name, "character set");
  if (!found) return found.error();
  return found->charset;
}

Decoder::Decoder(Charset charset)
    : table_(make_table(charset)), utf_8_(charset == Charset::utf_8) {}

Decoder::Characters Decoder::put(std::uint8_t byte) {
  if (utf_8_) return put_utf_8(byte);
  return {{table_[byte]}, 1};
}

Decoder::Characters Decoder::put_utf_8(std::uint8_t byte) {
  Characters out;
  if (missing_ != 0) {
    if (byte >= lowest_ && byte <= highest_) {
      lowest_ = 0x80;
      highest_ = 0xBF;
      value_ = value_ << 6 | (byte & 0x3Fu);
      if (--missing_ == 0) out.at[out.count++] = value_;
      return out;
    }
    missing_ = 0;
    out.at[out.count++] = replacement_character;
  }
  // Unicode 15.0 table 3-7: the lead byte decides how many follow and what the first of them may
  // be.
  lowest_ = 0x80;
  highest_ = 0xBF;
  if (byte < 0x80) {
    out.at[out.count++] = byte;
  } else if (byte >= 0xC2 && byte <= 0xDF) {
    missing_ = 1;
    value_ = byte & 0x1Fu;
  } else if (byte >= 0xE0 && byte <= 0xEF) {
    missing_ = 2;
    value_ = byte & 0x0Fu;
    if (byte == 0xE0) lowest_ = 0xA0;
    if (byte == 0xED) highest_ = 0x9F;
  } else if (byte >= 0xF0 && byte <= 0xF4) {
    missing_ = 3;
    value_ = byte & 0x07u;
    if (byte == 0xF0) lowest_ = 0x90;
    if (byte == 0xF4) highest_ = 0x8F;
  } else {
    out.at[out.count++] = replacement_character;
  }
  return out;
}

Decoder::Characters Decoder::finish() {
  Characters out;
  if (missing_ != 0) out.at[out.count++] = replacement_character;
  missing_ = 0;
  return out;
}

}  // namespace stationer::print
