// Texts on their way to and from a station: its character set, its line ends. Pure.
#pragma once

#include <string>
#include <string_view>

#include "print/charset.h"
#include "server/protocol/encoder.h"
#include "server/protocol/text_out.h"

namespace stationer::server {

// The store's UTF-8, with any line ends, to the station's bytes. What the station lacks becomes
// something readable; control characters other than tabs and form feeds are left out.
class TextToStation {
 public:
  TextToStation(const Screen& screen, LineEnding ending);

  std::string feed(std::string_view piece);
  std::string finish();

 private:
  void put(char32_t character, std::string& out);

  Encoder encoder_;
  print::Decoder decoder_{print::Charset::utf_8};
  std::string_view ending_;
  bool after_cr_ = false;
};

// A station's text to UTF-8 with LF. CR, LF and CR LF end lines; SUB (1A) ends the text.
class TextFromStation {
 public:
  explicit TextFromStation(print::Charset charset) : decoder_(charset) {}

  std::string feed(std::string_view piece);
  std::string finish();

 private:
  void put(char32_t character, std::string& out);

  print::Decoder decoder_;
  Encoder utf_8_{print::Charset::utf_8};
  bool after_cr_ = false;
  bool ended_ = false;
};

}  // namespace stationer::server
