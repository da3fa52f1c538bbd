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

#include <cstdint>
#include <functional>
#include <string_view>
#include <vector>

#include "fs/result.h"
#include "print/charset.h"
#include "print/escape.h"
#include "print/layout.h"
#include "print/overstrike.h"
#include "print/page.h"

namespace stationer::print {

using PageSink = std::function<fs::Status(const Page&)>;

struct PlainTextRules {
  Charset charset = Charset::utf_8;
  bool seven_bits = false;      // bit 8 of each byte is parity: take it off
  bool return_feeds = false;    // CR also feeds a line
  bool feed_returns = true;     // LF and VT also return to the left margin
  bool control_z_ends = false;  // SUB ends the text
  std::uint64_t most_pages = 1000;
};

// What a job amounted to, for accounting and for "why does it look like that?".
struct PlainTextReport {
  std::uint64_t pages = 0;
  std::uint64_t characters = 0;        // printed ones; spaces aren't counted
  std::uint64_t unreadable = 0;        // bytes that mean nothing in the character set
  std::uint64_t unknown_controls = 0;  // control codes without a meaning in plain text
  std::uint64_t escape_sequences = 0;  // skipped
  std::uint64_t blots = 0;             // places with characters upon each other that make no sense;
                                       // many of them tell of carriage returns without line feeds
};

class PlainText {
 public:
  PlainText(const PlainTextRules& rules, const Layout& layout, PageSink sink);

  // Fails when the sink does, or with Code::over_quota at one page too many. Not to be fed again
  // then.
  fs::Status feed(std::string_view bytes);

  // The job is complete: gives the last page, if anything is on it.
  fs::Status finish();

  const PlainTextReport& report() const { return report_; }

 private:
  fs::Status put(std::uint8_t byte);
  fs::Status control(char32_t code);
  fs::Status graphic(char32_t character);
  void print(char32_t character);
  void strike(std::size_t column, char32_t character);
  fs::Status feed_line();
  fs::Status feed_form();
  void end_line();
  void resolve_overstrikes();
  void underline();
  fs::Status end_page();
  fs::Status skip_blank_page();
  fs::Status give(const Page& page);
  fs::Status too_many_pages() const;

  const PlainTextRules rules_;
  const Layout layout_;
  const PageSink sink_;
  Decoder decoder_;
  EscapeSkipper escape_;
  PlainTextReport report_;

  // The line being printed. Most have nothing struck over; only those that do take the longer way
  // by places_, which holds the line with all its strikes from then on.
  std::vector<Cell> line_cells_;
  std::size_t printed_ = 0;  // columns up to the last one that isn't blank
  bool struck_over_ = false;
  std::vector<Place> places_;
  int column_ = 0;  // layout_.columns when the next character has to wrap
  int line_ = 0;
  Page page_;
  std::uint64_t blank_pages_ = 0;  // made by line feeds; given only if something follows them

  // How the head came to be where it is: at the top of a page, or below it.
  enum class Head : std::uint8_t { job_start, filled_page, form_feed, below };
  Head head_ = Head::job_start;
  bool ended_ = false;  // by SUB
};

}  // namespace stationer::print
