// Bytes to Unicode characters, for the character sets that old machines print in.
//
// The national sets are the registered versions of ISO 646 (ECMA-6): ASCII but for twelve places.
// They go by iconv's names in lower case (but for the international version of 1983, which it does
// not have); where a country has two, one bears a number: iso646-se2 is the Swedish one with É and
// Ü for names.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string_view>

#include "fs/result.h"

namespace stationer::print {

enum class Charset : std::uint8_t {
  ascii,
  utf_8,
  iso_8859_1,
  iso_8859_15,
  cp437,
  cp850,
  cp863,
  cp865,
  iso646_gb,   // BS 4730, IR-4
  iso646_de,   // DIN 66003, IR-21
  iso646_fr,   // NF Z 62-010 (1982), IR-69
  iso646_fr1,  // NF Z 62-010 (1973), IR-25
  iso646_se,   // SEN 850200 Annex B, IR-10
  iso646_se2,  // SEN 850200 Annex C, IR-11
  iso646_dk,   // DS 2089
  iso646_no,   // NS 4551-1, IR-60
  iso646_no2,  // NS 4551-2, IR-61
  iso646_es,   // IR-17
  iso646_es2,  // IR-85
  iso646_it,   // IR-15
  iso646_irv,  // IRV of 1983, IR-2
  iso646_jp,   // JIS X 0201 Roman, IR-14
  iso646_ca,   // CSA Z243.4 (1), IR-121
  iso646_ca2,  // CSA Z243.4 (2), IR-122
  iso646_cn,   // GB 1988-80, IR-57
  iso646_cu,   // NC 99-10, IR-151
  iso646_hu,   // MSZ 7795.3, IR-86
  iso646_kr,   // KS X 1003
  iso646_pt,   // IR-16
  iso646_pt2,  // IR-84
  iso646_yu,   // JUS I.B1.002, IR-141
};

struct CharsetName {
  Charset charset;
  std::string_view name;  // as settings write it, such as "cp437"
};

std::span<const CharsetName> charsets();
std::string_view name_of(Charset charset);

// Code::bad_input with the names there are.
fs::Result<Charset> find_charset(std::string_view name);

inline constexpr char32_t replacement_character = U'\uFFFD';

// Bytes that mean nothing in the set give U+FFFD: a byte above 7F in a seven-bit set, and malformed
// UTF-8, one for each maximal part of a character (Unicode 15.0 section 3.9). The control codes
// 00-1F and 7F, and 80-9F of the ISO sets, come out as they are.
class Decoder {
 public:
  // At most two: a broken character's replacement and the one that broke it.
  struct Characters {
    std::array<char32_t, 2> at{};
    unsigned count = 0;
  };

  explicit Decoder(Charset charset);

  Characters put(std::uint8_t byte);

  // Whether a character was begun that isn't over.
  bool inside() const { return missing_ != 0; }

  // True only when put(byte) would give the character of the same number and nothing else; for
  // ASCII that no other character was begun before, always.
  bool is_itself(std::uint8_t byte) const { return missing_ == 0 && table_[byte] == byte; }

  // U+FFFD when the input ended inside a character.
  Characters finish();

 private:
  Characters put_utf_8(std::uint8_t byte);

  std::array<char16_t, 256> table_{};
  bool utf_8_;
  // A UTF-8 character in the making: bytes still to come, the range of the next, the value so far.
  unsigned missing_ = 0;
  std::uint8_t lowest_ = 0x80;
  std::uint8_t highest_ = 0xBF;
  char32_t value_ = 0;
};

}  // namespace stationer::print
