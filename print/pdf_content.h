// A page's content stream (ISO 32000-1 sections 8 and 9).
//
// Made so that searching and copying give the text back: each character is shown once, a line is
// one string with its blanks in it, lines come in the order of reading, and what is no text (rules,
// what was struck over) is drawn as shapes.
#pragma once

#include <cstdint>
#include <set>
#include <string>
#include <string_view>

#include "print/page.h"
#include "print/paper.h"
#include "print/pdf_dot_font.h"
#include "print/pdf_font.h"
#include "print/points.h"

namespace stationer::print {

class PdfContent {
 public:
  // The fonts must outlive it. With `dots`, text and rules are dots.
  PdfContent(PdfFonts& fonts, PdfDotFonts* dots, const Paper& paper);

  // The stream for the page, beginning with `pictures`; valid until the next call.
  std::string_view write(const Page& page, std::string_view pictures = {});

  // What the page just written uses: inks besides black, and outlines.
  bool inked() const { return inked_; }
  const std::set<PdfFonts::Outline>& outlines() const { return outlines_; }

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
    std::string em_text;
    double stretch = 100;
  };

  // How letters are painted.
  enum class LetterForm : std::uint8_t { filled, hollow, unseen };
  static LetterForm form_of(Style style) {
    return has(style, Style::unseen)    ? LetterForm::unseen
           : has(style, Style::outline) ? LetterForm::hollow
                                        : LetterForm::filled;
  }

  void choose_fit(CellSize size);
  void write_text(const Page& page);
  void write_rules(const Page& page);
  void write_marks(const Page& page);
  void write_shape(Place at, Cell cell, std::string& into);
  void write_shadow(Place at, Cell cell);
  void write_run(const Run& run, std::span<const Cell> cells);
  std::size_t gather(std::span<const Cell> cells);
  void write_dot_run(const Run& run, std::span<const Cell> cells);
  void write_dotted(const Rule& rule);
  void begin_line(Place at, Points leading, bool slanted);
  void show();
  void set_font(PdfFonts::Face face);
  void set_dot_font(const PdfDotFonts::Code& code, Units pitch);
  void set_stretch(double stretch);
  void set_ink(Ink ink);
  void set_form(LetterForm form);
  static void length(std::string& into, Points value);
  static void decimal(std::string& into, double value, int decimals);
  void length(Points value) { length(out_, value); }
  void decimal(double value, int decimals) { decimal(out_, value, decimals); }
  Points slant_shift() const;

  PdfFonts& fonts_;
  PdfDotFonts* const dots_;
  const Points height_;  // of the sheet
  std::string out_;
  std::string string_;   // the text being gathered
  std::string shadows_;  // of the page, to stand below its text
  Fit fit_;
  std::uint64_t missing_ = 0;

  std::set<PdfFonts::Outline> outlines_;
  bool inked_ = false;

  // The state as the stream has set it on this page.
  Ink ink_ = Ink::black;
  LetterForm form_ = LetterForm::filled;
  Place line_;
  Points leading_ = 0;
  bool next_line_ = false;  // the next string is to go to the line below
  bool slanted_ = false;
  bool font_set_ = false;
  PdfFonts::Face face_ = PdfFonts::Face::regular;
  unsigned dot_font_ = 0;
  double em_ = 0;
  double stretch_ = 100;
};

}  // namespace stationer::print
