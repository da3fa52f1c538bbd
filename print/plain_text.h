// Plain text to pages: what a line printer makes of characters and the format effectors of ASCII.
//
// A byte machine: fed a job in pieces of any size it gives the same pages, each as soon as it is
// done, so its memory is one page. It knows no files and no fonts.
//
//   CR  to the left margin; also feeds a line if the switch says so
//   LF  feeds a line; also returns to the left margin if the switch says so. VT does as LF
//   FF  ends the page and returns to the left margin. Right after another FF it makes a blank page;
//       as the first thing in a job it does nothing; after a page that line feeds have filled it
//       only confirms that that page is over
//   BS  one column back; striking over gives bold, underline or accents (print/overstrike.h)
//   HT  to the next multiple of eight columns, or to the end of the line
//   NUL, BEL, DEL, DC1 and DC3 (flow control) mean nothing on paper
//   SUB (1A) ends the text if the switch says so: files that have no exact length are padded
//       with it
//
// A line that has reached its last column wraps when the next character comes, not before: 80
// characters and CR LF are one line. Blank lines at the end of a job make no page. All of this is
// common practice, no source.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>
#include <vector>

#include "print/charset.h"
#include "print/escape.h"
#include "print/interpreter.h"
#include "print/layout.h"
#include "print/overstrike.h"
#include "print/page.h"
#include "print/page_gate.h"

namespace stationer::print {

struct PlainTextRules {
  Charset charset = Charset::utf_8;
  bool seven_bits = false;      // bit 8 of each byte is parity: take it off
  bool return_feeds = false;    // CR also feeds a line
  bool feed_returns = true;     // LF and VT also return to the left margin
  bool control_z_ends = false;  // SUB ends the text
  std::uint64_t most_pages = 1000;
};

class PlainText final : public Interpreter {
 public:
  PlainText(const PlainTextRules& rules, const Layout& layout, PageSink sink);

  fs::Status feed(std::string_view bytes) override;
  fs::Status finish() override;
  JobReport report() const override;

  // Where the head is, from 0.
  int line() const { return line_; }

 private:
  std::uint8_t significant(char byte) const {
    return static_cast<std::uint8_t>(byte) & (rules_.seven_bits ? 0x7F : 0xFF);
  }
  std::size_t print_plain(std::string_view bytes);
  fs::Status put(std::uint8_t byte);
  fs::Status put_character(char32_t character);
  fs::Status control(char32_t code);
  void unknown(char32_t code);
  fs::Status graphic(char32_t character);
  void print(char32_t character);
  void add_printed(std::size_t characters, std::size_t columns);
  void strike(std::size_t column, char32_t character);
  fs::Status feed_line();
  fs::Status feed_form();
  void end_line();
  void resolve_overstrikes();
  void underline();
  fs::Status begin_page(fs::Status status);

  const PlainTextRules rules_;
  const Layout layout_;
  PageGate gate_;
  Decoder decoder_;
  std::array<bool, 256> plain_{};  // the bytes that are ASCII's graphic characters
  EscapeSkipper escape_;
  std::uint64_t offset_ = 0;  // of the byte being read
  JobReport report_;

  // The line being printed: what was struck first, and, where more was, all of it in places_.
  std::vector<Cell> line_cells_;
  std::size_t printed_ = 0;  // columns up to the last one that isn't blank
  bool struck_over_ = false;
  std::vector<Place> places_;
  int column_ = 0;  // layout_.columns when the next character has to wrap
  int line_ = 0;
  Page page_;
  bool ended_ = false;  // by SUB
};

}  // namespace stationer::print
