// Unicode characters to a station's bytes: the other direction of print/charset.h, which it shares
// the tables with, and with something readable for what the station lacks.
#pragma once

#include <array>
#include <string>
#include <string_view>

#include "print/charset.h"

namespace stationer::server {

// The characters of a whole text; U+FFFD for what means nothing (see print::Decoder).
std::u32string decode(std::string_view bytes, print::Charset charset = print::Charset::utf_8);

class Encoder {
 public:
  // `capitals`: the station has no lower case.
  explicit Encoder(print::Charset charset, bool capitals = false);

  // What the station shows for `c`: the character itself, its substitute, or a question mark.
  // Control characters, which could play tricks with the station, are question marks too.
  // Zero for what combines with the character before on a station that can't, and for what only
  // steers layout: nothing is shown.
  char32_t shown(char32_t c) const;

  // Appends the bytes of a character that shown() gave; zero adds none.
  void append(char32_t shown, std::string& out) const;

 private:
  // What each byte means; zero for what is never sent.
  using Table = std::array<char16_t, 256>;
  static const Table& table_of(print::Charset charset);

  bool has(char32_t c) const;

  const Table* table_;  // shared by all that have the set; none for UTF-8
  bool capitals_;
};

}  // namespace stationer::server
