// Text for a station's screen or paper: our UTF-8 becomes lines of the station's bytes, in its
// character set, wrapped to its width, with its line ending. Pure.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "print/charset.h"
#include "server/protocol/encoder.h"

namespace stationer::server {

enum class LineEnding : std::uint8_t { cr_lf, cr, lf };
std::string_view bytes_of(LineEnding ending);

// What can be shown at the far end.
struct Screen {
  print::Charset charset = print::Charset::ascii;
  bool capitals = false;  // no lower case
  int columns = 80;  // 20 to 80 for old stations; anything outside 16..255 counts as the nearer
  LineEnding ending = LineEnding::cr_lf;
};

// Breaks a paragraph (no line ends in it) into lines of at most `width` cells, at spaces where
// there are any. The spaces at a break vanish, all others stay, so that indents and tables keep
// their shape. A word wider than a line is cut. An empty paragraph is one empty line.
std::vector<std::u32string> wrap(std::u32string_view paragraph, int width);

class TextOut {
 public:
  explicit TextOut(const Screen& screen);

  // UTF-8 (malformed parts show as question marks) to the station's bytes, one string a line, no
  // line endings. CR LF, LF and FF end a line; other CRs vanish; tabs go to the next multiple of
  // eight. The last column stays free: many screens start a new line of their own after it.
  // Text that does not end with a line end leaves its last line open; see text().
  std::vector<std::string> lines(std::string_view text) const;

  // The same with line endings between the lines, and one at the end if `text` ends with one.
  // A prompt therefore is a text without.
  std::string text(std::string_view text) const;

  const Encoder& encoder() const { return encoder_; }
  std::string_view ending() const { return ending_; }

 private:
  Encoder encoder_;
  int width_;
  std::string_view ending_;
};

// Counts lines sent to a screen, and says when to stop and ask before going on.
class Pager {
 public:
  // `rows` of the screen, the last of which is for the question. Fewer than two: never stop.
  explicit Pager(int rows) : rows_(rows) {}

  // One more line was sent. True when the screen is full: ask before the next.
  bool line() {
    if (rows_ < 2 || ++shown_ < rows_ - 1) return false;
    shown_ = 0;
    return true;
  }

  // The next line starts a fresh screen: the member has answered, or typed something.
  void restart() { shown_ = 0; }

 private:
  int rows_;
  int shown_ = 0;
};

}  // namespace stationer::server
