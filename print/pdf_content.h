// A page's content stream (ISO 32000-1 sections 8 and 9).
//
// Made so that searching and copying give the text back: each character is shown once, a line is
// one string with its blanks in it, lines come in the order of reading, and what is no text (rules,
// what was struck over) is drawn as shapes.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "print/page.h"
#include "print/pdf_font.h"

namespace stationer::print {

class PdfContent {
 public:
  // `height` is the sheet's, in points as PDF text. `fonts` must outlive it.
  PdfContent(PdfFonts& fonts, std::string height);

  // The stream for the page; valid until the next call.
  std::string_view write(const Page& page);

  // Characters shown as a box so far, for want of a glyph.
  std::uint64_t missing() const { return missing_; }

 private:
  // How glyphs are fitted to a cell: the em's height in u, and how wide it is drawn, in percent.
  struct Fit {
    CellSize size;
    double em = 0;
    double stretch = 100;
  };

  void choose_fit(CellSize size);
  void write_rules(const Page& page);
  void write_marks(const Page& page);
  void write_run(const Run& run, std::span<const Cell> cells);
  void move_to(Units x, Units baseline, bool slanted);
  void set_font(PdfFonts::Face face);
  void number(std::int64_t value);
  void decimal(double value, int decimals);

  PdfFonts& fonts_;
  const std::string height_;
  std::string out_;
  std::string string_;  // the text being gathered
  Fit fit_;
  std::uint64_t missing_ = 0;

  // The text state as the stream has set it on this page.
  Units line_x_ = 0;
  Units line_baseline_ = 0;
  bool slanted_ = false;
  bool font_set_ = false;
  PdfFonts::Face face_ = PdfFonts::Face::regular;
  double em_ = 0;
  double stretch_ = 100;
};

}  // namespace stationer::print
