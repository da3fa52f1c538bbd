// Enter as keyboards and networks send it, made one thing: CR, LF, CR LF and CR NUL all become a
// single CR (RFC 1123 §3.3.1; RFC 854, "the NVT printer and keyboard").
#pragma once

#include <optional>

namespace stationer::server {

class Enter {
 public:
  // The byte to pass on for `byte`: CR at once for any Enter, nothing for the second half of a
  // pair.
  std::optional<char> operator()(char byte) {
    const bool second_half = after_cr_ && (byte == '\n' || byte == '\0');
    after_cr_ = byte == '\r';
    if (second_half) return {};
    return byte == '\n' ? '\r' : byte;
  }

  // What comes next is not the second half of anything.
  void forget() { after_cr_ = false; }

 private:
  bool after_cr_ = false;
};

}  // namespace stationer::server
