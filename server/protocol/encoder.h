// Unicode characters to a station's bytes: the other direction of print/charset.h, which it shares
// the tables with, and with something readable for what the station lacks.
#pragma once

#include <array>
#include <string>

#include "print/charset.h"

namespace stationer::server {

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
  bool has(char32_t c) const;

  std::array<char16_t, 256> table_{};  // what each byte means; zero for what is never sent
  bool utf_8_;
  bool capitals_;
};

}  // namespace stationer::server
