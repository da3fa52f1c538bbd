#include "server/protocol/netascii.h"

namespace stationer::server {

std::size_t to_netascii(std::string_view stored, NetasciiPlace& place, std::span<char> into) {
  std::size_t written = 0;
  for (std::size_t at = 0; at < stored.size() && written < into.size();) {
    const char byte = stored[at];
    if (byte != '\n' && byte != '\r') {
      into[written++] = byte;
    } else if (!place.half) {
      into[written++] = '\r';
      place.half = true;
      continue;
    } else {
      into[written++] = byte == '\n' ? '\n' : '\0';
      place.half = false;
    }
    ++at;
    ++place.offset;
  }
  return written;
}

std::string FromNetascii::feed(std::string_view piece) {
  std::string out;
  out.reserve(piece.size() + 1);
  for (const char octet : piece) {
    if (after_cr_) {
      after_cr_ = false;
      if (octet == '\n') {
        out += '\n';
        continue;
      }
      out += '\r';
      if (octet == '\0') continue;
    }
    if (octet == '\r') {
      after_cr_ = true;
    } else {
      out += octet;
    }
  }
  return out;
}

std::string FromNetascii::finish() {
  if (!after_cr_) return {};
  after_cr_ = false;
  return "\r";
}

}  // namespace stationer::server
