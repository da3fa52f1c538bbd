// Sheets of our own for people: slips to cut apart, cards, plans, reports. Text in four sizes,
// rules, frames and dashed lines to cut along, put where the caller says; no interpreter has a part
// in it.
//
// Lengths are in u (print/units.h) from the sheet's top left corner. Text is UTF-8; what does not
// print in it becomes a blank, bytes that are no UTF-8 a question mark. Equal calls give equal
// bytes.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "print/bytes.h"
#include "print/font_subset.h"
#include "print/metadata.h"
#include "print/page.h"
#include "print/paper.h"
#include "print/pdf_writer.h"

namespace stationer::print {

enum class Type : std::uint8_t { small, body, head, title };  // head and title are bold

// From one character to the next, and from one line's baseline to the next one's.
Units pitch_of(Type type);
Units line_of(Type type);

// How many characters fit.
std::size_t columns_in(Units width, Type type);

// Text in lines of at most `columns` characters, broken at blanks, inside a word only when it is
// longer than a line; line feeds stay. At least one line, never one longer than `columns` (at least
// 1).
std::vector<std::string> wrapped(std::string_view text, std::size_t columns);

class Leaflet {
 public:
  // `fonts` must outlive it. `paper` is that of every sheet, as it lies.
  Leaflet(const Fonts& fonts, const Paper& paper, Metadata about, ByteSink sink);

  Units width() const { return units(paper_.width); }
  Units height() const { return units(paper_.height); }

  // One line. What is too long goes on over the edge: see columns_in().
  void text(Units x, Units baseline, Type type, std::string_view line, Style style = Style::plain);
  // Wrapped text whose first line begins at the height `top`; where the next one would begin.
  Units paragraph(Units x, Units top, Units width, Type type, std::string_view text,
                  Style style = Style::plain);

  // A filled rectangle.
  void rule(Units x, Units y, Units width, Units height);
  // Lines along the inside of a rectangle's edges.
  void frame(Units x, Units y, Units width, Units height, Units thickness = hairline);
  // Dashed, across the sheet or down it.
  void cut_across(Units y, Units from, Units to);
  void cut_down(Units x, Units from, Units to);

  // The next sheet. The sink's failure, if it had one; so too finish(), which completes the file.
  fs::Status next_page();
  fs::Status finish();

  static constexpr Units hairline = inches(1, 144);

 private:
  const Paper paper_;
  PdfWriter writer_;
  Page page_;
};

}  // namespace stationer::print
