#include "server/protocol/clean_text.h"

#include "fs/text.h"
#include "print/charset.h"
#include "server/protocol/encoder.h"

namespace stationer::server {

std::string clean_text(std::string_view bytes) {
  const Encoder utf_8(print::Charset::utf_8);
  const auto charset = fs::is_utf8(bytes) ? print::Charset::utf_8 : print::Charset::iso_8859_1;
  std::string out;
  for (const char32_t c : decode(bytes, charset)) utf_8.append(utf_8.shown(c), out);
  return out;
}

}  // namespace stationer::server
