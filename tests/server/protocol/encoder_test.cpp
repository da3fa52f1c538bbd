#include "server/protocol/encoder.h"

#include <string>

#include <catch2/catch.hpp>
#include <utf8proc.h>

#include "server/protocol/substitute.h"

using namespace stationer::server;
using stationer::print::Charset;
using stationer::print::CharsetName;
using stationer::print::Decoder;

namespace {

// What a station that has `charset` gets for a text.
std::string shown(Charset charset, std::u32string_view text, bool capitals = false) {
  const Encoder encoder(charset, capitals);
  std::string out;
  for (const char32_t c : text) encoder.append(encoder.shown(c), out);
  return out;
}

// ECMA-6: what every version of ISO 646 has.
bool invariant(char32_t c) {
  constexpr std::u32string_view signs = U" !\"%&'()*+,-./:;<=>?_";
  return (c >= U'0' && c <= U'9') || (c >= U'A' && c <= U'Z') || (c >= U'a' && c <= U'z') ||
         signs.find(c) != std::u32string_view::npos;
}

}  // namespace

TEST_CASE("encoder: every byte of every character set comes back as it was") {
  for (const CharsetName& entry : stationer::print::charsets()) {
    CAPTURE(entry.name);
    if (entry.charset == Charset::utf_8) continue;
    Decoder decoder(entry.charset);
    for (unsigned byte = 0x20; byte < 256; ++byte) {
      const char32_t c = decoder.put(static_cast<std::uint8_t>(byte)).at[0];
      const bool control = c == 0x7F || (c >= 0x80 && c < 0xA0);
      if (control || c == 0xFFFD || c == 0xAD) continue;
      CHECK(shown(entry.charset, {&c, 1}) == std::string(1, static_cast<char>(byte)));
    }
  }
}

TEST_CASE("encoder: UTF-8 in one to four bytes") {
  // Unicode 15.0, table 3-4: the examples of the standard.
  CHECK(shown(Charset::utf_8, U"\u004D\u0430\u4E8C\U00010302") ==
        "\x4D\xD0\xB0\xE4\xBA\x8C\xF0\x90\x8C\x82");
  CHECK(shown(Charset::utf_8, U"e\u0301") == "e\xCC\x81");
  CHECK(Encoder(Charset::utf_8).shown(0xD800) == U'?');
  CHECK(Encoder(Charset::utf_8).shown(0x110000) == U'?');
}

TEST_CASE("encoder: what the station lacks becomes something readable of one cell") {
  CHECK(shown(Charset::ascii, U"£5, 20 °C, naïve Ærø café „so“ — 10 €…") ==
        "L5, 20 oC, naive Aro cafe \"so\" - 10 E.");
  CHECK(shown(Charset::ascii, U"┌─┬╥┐│║█") == "+-+++||#");
  CHECK(shown(Charset::ascii, U"日本☎") == "???");
  CHECK(shown(Charset::ascii, U"e\u0301") == "e");
  CHECK(shown(Charset::iso646_gb, U"£5 #3") == "#5 N3");  // £ has the place of #
  CHECK(shown(Charset::iso646_de, U"ä[b]{c}|\\~@") == "{(b)(c)!/-a");
  CHECK(shown(Charset::iso646_no2, U"│¤") == "~$");
  CHECK(shown(Charset::cp437, U"Ÿ…€") == "Y.E");
}

TEST_CASE("encoder: stations without lower case") {
  CHECK(shown(Charset::ascii, U"Robin's café, ß", true) == "ROBIN'S CAFE, S");
  CHECK(shown(Charset::iso646_de, U"Grüße", true) == "GR]~E");  // it has Ü; ß is not lower case
  CHECK(shown(Charset::iso646_fr, U"été", true) == "ETE");      // it has é but no É
}

TEST_CASE("encoder: nothing a station could obey gets through") {
  for (const CharsetName& entry : stationer::print::charsets()) {
    for (char32_t c = 0; c < 0x3000; ++c) {
      const std::string bytes = shown(entry.charset, {&c, 1});
      if (entry.charset == Charset::utf_8 && c >= 0xA0) {
        CHECK((bytes.empty() || static_cast<unsigned char>(bytes[0]) >= 0xC2));
        continue;
      }
      CHECK(bytes.size() <= 1);
      for (const char byte : bytes) {
        const auto b = static_cast<unsigned char>(byte);
        CHECK((b >= 0x20 && b != 0x7F));
        const bool iso =
            entry.charset == Charset::iso_8859_1 || entry.charset == Charset::iso_8859_15;
        if (iso) CHECK((b < 0x80 || b >= 0xA0));
      }
    }
  }
  // U+202E turns the text after it round: a name could hide its ending behind it.
  CHECK(shown(Charset::utf_8, U"a\u202Eb\u200Bc\u001Bd") == "abc?d");
}

TEST_CASE("substitutes always end at a character that every set has, within three steps") {
  for (char32_t c = 0x20; c < 0x3000; ++c) {
    char32_t at = substitute(c);
    int steps = at == 0 ? 0 : 1;
    while (at != 0 && !invariant(at)) {
      at = substitute(at);
      ++steps;
      REQUIRE(steps <= 3);
      REQUIRE(at != 0);
    }
  }
  for (char32_t c = 0x20; c < 0x7F; ++c) CHECK((invariant(c) || substitute(c) != 0));
}

TEST_CASE("substitutes for accented letters are their base letters") {
  // Unicode's canonical decompositions, as utf8proc has them.
  for (char32_t c = 0xC0; c < 0x180; ++c) {
    utf8proc_int32_t parts[8];
    int boundary = 0;
    const auto count = utf8proc_decompose_char(static_cast<utf8proc_int32_t>(c), parts, 8,
                                               UTF8PROC_DECOMPOSE, &boundary);
    REQUIRE(count >= 1);
    if (count > 1) CHECK(substitute(c) == static_cast<char32_t>(parts[0]));
  }
}

TEST_CASE("cell widths agree with utf8proc where we show text") {
  for (char32_t c = 0x20; c < 0x20000; ++c) {
    const auto point = static_cast<utf8proc_int32_t>(c);
    const auto category = utf8proc_category(point);
    // Unassigned, private and control characters, and signs that steer layout, have no agreed
    // width.
    if (category == UTF8PROC_CATEGORY_CN || category == UTF8PROC_CATEGORY_CO ||
        category == UTF8PROC_CATEGORY_CC || category == UTF8PROC_CATEGORY_CF ||
        category == UTF8PROC_CATEGORY_ZL || category == UTF8PROC_CATEGORY_ZP ||
        category == UTF8PROC_CATEGORY_CS) {
      continue;
    }
    // Latin, Greek, Cyrillic; punctuation to geometric shapes; East Asian letters.
    const bool ours = c < 0x530 || (c >= 0x2000 && c < 0x2600) || (c >= 0x3041 && c < 0xA4C7) ||
                      (c >= 0xAC00 && c < 0xD7A4) || (c >= 0xF900 && c < 0xFADA);
    if (!ours || (c >= 0x231A && c <= 0x23FF) || c == 0x25FD || c == 0x25FE) continue;
    CAPTURE(static_cast<unsigned>(c));
    CHECK(cells(c) == utf8proc_charwidth(point));
  }
}

TEST_CASE("capitals of ASCII and Latin-1") {
  for (char32_t c = 0; c < 0x100; ++c) {
    const auto upper = static_cast<char32_t>(utf8proc_toupper(static_cast<utf8proc_int32_t>(c)));
    if (upper < 0x100 || c == 0xB5 || c == 0xDF || c == 0xFF) {
      CAPTURE(static_cast<unsigned>(c));
      CHECK(capital(c) == (upper < 0x100 ? upper : c));
    }
  }
}
