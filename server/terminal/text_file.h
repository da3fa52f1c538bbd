// Texts as old machines leave them, for a screen. Pure.
#pragma once

#include <string>
#include <string_view>

namespace stationer::server {

// Whether what starts like that can be meant for reading: no NUL, and of other control characters
// than those that place text no more than one in twenty. What follows SUB does not count.
bool looks_like_text(std::string_view start);

// Cuts a text that comes in pieces into whole lines. CR, LF and CR LF each end one; SUB (1A) ends
// the text, because files that have no exact length are padded with it (common practice, no
// source). A line longer than longest_part is given in parts, so that a file without line ends
// is no burden.
class TextLines {
 public:
  static constexpr std::size_t longest_part = 4096;  // bytes

  // The lines that `piece` completes, an LF after each.
  std::string feed(std::string_view piece);
  // What is left at the end: a line that nothing closed, with an LF.
  std::string finish();
  bool ended() const { return ended_; }  // by SUB: nothing more will be shown

 private:
  std::string open_;  // the line that is not complete yet
  bool after_cr_ = false;
  bool ended_ = false;
};

}  // namespace stationer::server
