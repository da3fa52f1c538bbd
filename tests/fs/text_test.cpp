#include "fs/text.h"

#include <catch2/catch.hpp>

#include "fs/plain_letters.h"

using namespace stationer::fs;

TEST_CASE("UTF-8 is told from other bytes") {
  CHECK(is_utf8(""));
  CHECK(is_utf8("caf\xC3\xA9"));
  CHECK(is_utf8("\xF0\x9F\x8C\x8A"));
  CHECK_FALSE(is_utf8("\xC0\xAE"));      // overlong, Unicode 15 table 3-7
  CHECK_FALSE(is_utf8("\xED\xA0\x80"));  // a lone surrogate
  CHECK_FALSE(is_utf8("\xE9"));
  CHECK_FALSE(is_utf8("\xF5\x80\x80\x80"));
}

// Unicode 15.0 CaseFolding.txt: full folding is C and F, never T.
TEST_CASE("names are compared by full Unicode case folding") {
  CHECK(fold("README") == fold("readme"));
  CHECK(fold("Stra\u00dfe") == fold("STRASSE"));
  CHECK(fold("\u03c2") == fold("\u03c3"));   // final sigma
  CHECK(fold("\u212a") == fold("k"));        // Kelvin sign
  CHECK(fold("\ufb01") == fold("fi"));       // ligature
  CHECK(fold("\u017f") == fold("s"));        // long s
  CHECK(fold("\u00e9") == fold("e\u0301"));  // composed and decomposed
  CHECK(fold("I") != fold("\u0131"));        // dotless i is T, Turkic only
}

TEST_CASE("folding is stable: folding twice changes nothing") {
  for (char32_t point = 0x80; point < 0x3000; ++point) {
    std::string text;
    if (point < 0x800) {
      text += static_cast<char>(0xC0 | point >> 6);
    } else {
      text += static_cast<char>(0xE0 | point >> 12);
      text += static_cast<char>(0x80 | (point >> 6 & 0x3F));
    }
    text += static_cast<char>(0x80 | (point & 0x3F));
    const std::string once = fold(text);
    if (fold(once) != once) FAIL("U+" << std::hex << static_cast<unsigned>(point));
  }
}

TEST_CASE("passwords fold to what a capitals-only keyboard can type") {
  CHECK(fold_password("Mill Race") == fold_password("MILL RACE"));
  CHECK(fold_password("  mill ") == "mill");
  CHECK(fold_password("   ").empty());
  CHECK(fold_password("\uff4d\uff49\uff4c\uff4c") == "mill");  // full-width letters
}

TEST_CASE("a text is clipped between characters") {
  CHECK(clip("abc", 5) == "abc");
  CHECK(clip("abc", 2) == "ab");
  CHECK(clip("a\u00e9b", 2) == "a");
  CHECK(clip("a\u00e9b", 3) == "a\u00e9");
  CHECK(characters("a\u00e9b") == 3);
}

TEST_CASE("a name is told in the letters that every keyboard has") {
  CHECK(plain_letters("Robin Fenn-7") == "robin fenn-7");
  // Unicode 15.0 UnicodeData.txt: canonical and compatibility decompositions.
  CHECK(plain_letters("J\u00fcrgen \u017b\u1ed9") == "jurgen zo");
  CHECK(plain_letters("e\u0301") == "e");
  CHECK(plain_letters("\ufb01n \uff37ren") == "fin wren");
  CHECK(plain_letters("\u0130") == "i");
  // CaseFolding.txt, status F.
  CHECK(plain_letters("Stra\u00dfe \u1e9e") == "strasse ss");
  // Without a decomposition: common practice, no source.
  CHECK(plain_letters("\u00c6\u0153\u00d8\u0141\u0110\u00f0\u00de\u0127\u0131\u0167\u014b") ==
        "aeoeolddthhitn");
  // Soft hyphens and joiners are not seen.
  CHECK(plain_letters("Ro\u00adbin\u200d") == "robin");
  // What has no letter there stays.
  CHECK(plain_letters("\u6c34 \u0416") == "\u6c34 \u0436");
}
