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
#include "print/paper.h"
#include "print/pdf_font.h"
#include "print/points.h"

namespace stationer::print {

class PdfContent {
 public:
  // `fonts` must outlive it.
  PdfContent(PdfFonts& fonts, const Paper& paper);

  // The stream for the page; valid until the next call.
  std::string_view write(const Page& page);

  // Characters shown as a box so far, for want of a glyph.
  std::uint64_t missing() const { return missing_; }

 private:
  // As PDF has it: from the sheet's bottom left corner, y upward. Rounded from the absolute
  // position, so that relative moves don't add up errors.
  struct Place {
    Points x = 0;
    Points y = 0;
  };
  Place place(Units x, Units y) const { return {points_of_units(x), height_ - points_of_units(y)}; }

  // How glyphs are fitted to a cell: the em in points, and how wide it is drawn, in percent.
  struct Fit {
    CellSize size;
    double em = 0;
    double stretch = 100;
  };

  void choose_fit(CellSize size);
  void write_rules(const Page& page);
  void write_marks(const Page& page);
  void write_run(const Run& run, std::span<const Cell> cells);
  void begin_line(Place at, Points leading, bool slanted);
  void show();
  void set_font(PdfFonts::Face face);
  void length(Points value);
  void decimal(double value, int decimals);
  Points slant_shift() const;

  PdfFonts& fonts_;
  const Points height_;  // of the sheet
  std::string out_;
  std::string string_;  // the text being gathered
  Fit fit_;
  std::uint64_t missing_ = 0;

  // The text state as the stream has set it on this page.
  Place line_;
  Points leading_ = 0;
  bool next_line_ = false;  // the next string is to go to the line below
  bool slanted_ = false;
  bool unseen_ = false;
  bool font_set_ = false;
  PdfFonts::Face face_ = PdfFonts::Face::regular;
  double em_ = 0;
  double stretch_ = 100;
};

}  // namespace stationer::print
