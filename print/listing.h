// Carriage-control listings to plain text: each record (line) begins with a column that is not
// printed but says how far the paper moves before the record is. Compilers and job systems of large
// machines wrote their listings so, for printers that had no other way to overprint or eject.
//
//   blank  the next line               0  one line left free     -  two lines left free
//   1      the next page               +  over the record before
//   2-9 A-C  the next line that the printer's control tape has the channel 2 to 12 punched at, if
//            the rules say where those are
//
// POSIX.1-2017, asa, has all of these but the minus sign and the channels, which are common
// practice of large machines (their makers' tables); elsewhere a minus sign is as a blank, which
// the rules can say. Other characters move as a blank does and are counted; POSIX leaves them open.
// The first record moves on from the first line, where a blank leaves it; an empty record is one
// with a blank.
//
// What each record moves is given on as format effectors to the interpreter of plain text
// (print/plain_text.h).
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "fs/result.h"
#include "print/plain_text.h"

namespace stationer::print {

struct ListingRules {
  int minus_lines = 3;             // how many lines a minus sign feeds: 1 to 3
  std::vector<int> channels = {};  // the lines, from 1, of channels 2, 3, …; at most 11
};

class Listing final : public Interpreter {
 public:
  // The first column alone moves the paper, whatever the rules say of CR and LF.
  Listing(PlainTextRules text, ListingRules rules, const Layout& layout, PageSink sink);

  fs::Status feed(std::string_view bytes) override;
  fs::Status finish() override;
  // Its unknown controls are also records whose first column has no meaning.
  JobReport report() const override;

 private:
  enum class At : std::uint8_t {
    control,          // the next byte is a record's first
    record,           // inside one
    carriage_return,  // inside one, after a CR that may belong to its end
  };

  fs::Status move(char control);
  void feed_lines(int lines);
  fs::Status skip_to(int line);

  const ListingRules rules_;
  PlainText text_;
  std::string ready_;  // what one feed() gives on
  At at_ = At::control;
  bool first_ = true;
  std::uint64_t offset_ = 0;  // of the byte being read
  JobReport own_;             // the controls that mean nothing
};

}  // namespace stationer::print
