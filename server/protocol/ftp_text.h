// Texts on their way over FTP as type A (RFC 959 §3.1.1.1): CR LF on the line, or what else the
// station's profile asks for, and LF in the store. All other octets pass as they are. Pure.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "server/protocol/text_out.h"

namespace stationer::server {

// From the store. A CR LF that is stored is one line end, too.
class FtpTextOut {
 public:
  explicit FtpTextOut(LineEnding ending) : ending_(ending) {}

  // Adds what `piece` becomes.
  void feed(std::string_view piece, std::string& out);
  // A CR at the very end, where it might have begun a line end.
  void finish(std::string& out);

 private:
  LineEnding ending_;
  bool after_cr_ = false;
};

// How long a text is on the line, without making it.
class FtpTextSize {
 public:
  explicit FtpTextSize(LineEnding ending) : ending_(ending) {}

  void feed(std::string_view piece);
  std::uint64_t size() const { return size_; }

 private:
  LineEnding ending_;
  std::uint64_t size_ = 0;
  bool after_cr_ = false;
};

// To the store. CR LF and LF end a line; so does a CR alone where the station's lines end so.
class FtpTextIn {
 public:
  explicit FtpTextIn(LineEnding ending) : ending_(ending) {}

  std::string feed(std::string_view piece);
  std::string finish();

 private:
  LineEnding ending_;
  bool after_cr_ = false;
};

}  // namespace stationer::server
