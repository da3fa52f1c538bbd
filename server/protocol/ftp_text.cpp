#include "server/protocol/ftp_text.h"

#include <algorithm>
#include <utility>

namespace stationer::server {
namespace {

// Cuts the text before the next CR or LF off its front.
std::string_view until_end(std::string_view& text) {
  const auto plain = text.substr(0, std::min(text.find_first_of("\r\n"), text.size()));
  text.remove_prefix(plain.size());
  return plain;
}

}  // namespace

// A CR waits for what follows it: it is a line end with an LF, and itself without.
void FtpTextOut::feed(std::string_view piece, std::string& out) {
  while (!piece.empty()) {
    const char c = piece.front();
    const bool after_cr = std::exchange(after_cr_, c == '\r');
    if (after_cr && c != '\n') out += '\r';
    if (c == '\n') out += bytes_of(ending_);
    if (c == '\r' || c == '\n') {
      piece.remove_prefix(1);
    } else {
      out += until_end(piece);
    }
  }
}

void FtpTextOut::finish(std::string& out) {
  if (std::exchange(after_cr_, false)) out += '\r';
}

// A CR that turns out to be half of a line end is taken back.
void FtpTextSize::feed(std::string_view piece) {
  while (!piece.empty()) {
    const char c = piece.front();
    const bool after_cr = std::exchange(after_cr_, c == '\r');
    if (c == '\n') {
      size_ += bytes_of(ending_).size();
      if (after_cr) --size_;
    }
    if (c == '\r') ++size_;
    if (c == '\r' || c == '\n') {
      piece.remove_prefix(1);
    } else {
      size_ += until_end(piece).size();
    }
  }
}

std::string FtpTextIn::feed(std::string_view piece) {
  std::string out;
  out.reserve(piece.size() + 1);
  while (!piece.empty()) {
    const char c = piece.front();
    const bool after_cr = std::exchange(after_cr_, c == '\r');
    const bool cr_ends = ending_ == LineEnding::cr;
    // Where a CR ends lines it has done so already, and an LF right after it belongs to it.
    if (after_cr && c != '\n' && !cr_ends) out += '\r';
    if (c == '\n' && !(after_cr && cr_ends)) out += '\n';
    if (c == '\r' && cr_ends) out += '\n';
    if (c == '\r' || c == '\n') {
      piece.remove_prefix(1);
    } else {
      out += until_end(piece);
    }
  }
  return out;
}

std::string FtpTextIn::finish() {
  const bool open = std::exchange(after_cr_, false) && ending_ != LineEnding::cr;
  return open ? "\r" : "";
}

}  // namespace stationer::server
