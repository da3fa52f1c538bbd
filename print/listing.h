// Carriage-control listings to plain text: each record (line) begins with a column that is not
// printed but says how far the paper moves before the record is. Compilers and job systems of large
// machines wrote their listings so, for printers that had no other way to overprint or eject.
//
//   blank  the next line               0  one line left free     -  two lines left free
//   1      the next page               +  over the record before
//
// POSIX.1-2017, asa, has all of these but the minus sign, which is common practice (no source).
// Other characters move as a blank does and are counted; POSIX leaves them open. The first record
// stands on the first line of the first page whatever moves the paper by less than a page; an empty
// record is one with a blank.
//
// A byte machine between a job's bytes and the interpreter of plain text (print/plain_text.h),
// whose rules must be that LF returns and CR does not feed. Its memory is a few bytes.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "fs/result.h"
#include "print/plain_text.h"

namespace stationer::print {

class Listing {
 public:
  // `text` must outlive this.
  explicit Listing(PlainText& text) : text_(text) {}

  // Fails as PlainText::feed() does, and is not to be fed again then.
  fs::Status feed(std::string_view bytes);
  fs::Status finish();

  // Records whose first column has no meaning.
  std::uint64_t unknown_controls() const { return unknown_controls_; }

 private:
  enum class At : std::uint8_t {
    control,          // the next byte is a record's first
    record,           // inside one
    carriage_return,  // inside one, after a CR that may belong to its end
  };

  std::string_view motion(char control);

  PlainText& text_;
  std::string ready_;  // what one feed() gives on
  At at_ = At::control;
  bool first_ = true;
  std::uint64_t unknown_controls_ = 0;
};

}  // namespace stationer::print
