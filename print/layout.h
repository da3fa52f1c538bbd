// Where lines and columns stand on a sheet.
#pragma once

#include <optional>

#include "fs/result.h"
#include "print/page.h"
#include "print/paper.h"
#include "print/units.h"

namespace stationer::print {

// The form a text is printed on, as settings say it.
struct Form {
  Paper paper;
  bool landscape = false;       // the paper is turned
  Units pitch = inches(1, 10);  // from one column to the next
  Units line = inches(1, 6);    // from one line to the next
  int columns = 0;              // 0: as many as fit between the strips
  int lines = 0;                // 0: as many as fit on the sheet
  int skip = 0;                 // lines left free at the foot, so that none is on the perforation
  std::optional<int> left;      // columns from the sheet's edge to the text; centred if not said
  std::optional<int> top;       // lines from the sheet's edge to the text; centred if not said
};

// Turns the paper, or back. What was said of columns, lines and margins was said of the other way,
// so there are then as many as fit.
void turn(Form& form, bool landscape);

// The form's paper as it lies.
Paper paper_of(const Form& form);

// The same in u, checked. Columns start at whole multiples of the pitch from the sheet's left edge,
// as programs that take the text out of a PDF by columns expect.
struct Layout {
  Units left = 0;
  Units top = 0;
  CellSize cell;
  int columns = 0;
  int lines = 0;  // to be printed on: those of the form without the skipped ones

  // For lines 0, 1, …; two ninths of the line are below it for descenders, as on a printer whose
  // head has nine pins.
  Units baseline(int line) const { return top + line * cell.height + cell.height * 7 / 9; }
  Units column(int number) const { return left + number * cell.pitch; }
};

// Beyond what any sheet holds; keeps the arithmetic within bounds.
inline constexpr int most_in_form = 1000;

// Code::bad_input when the form doesn't fit the sheet, saying by how much.
fs::Result<Layout> lay_out(const Form& form);

// Pitches and line spacings as settings write them, per inch: "10", "12", "17.14", …; "6", "8".
// Code::bad_input with the values there are.
fs::Result<Units> find_pitch(std::string_view characters_an_inch);
fs::Result<Units> find_line_spacing(std::string_view lines_an_inch);
std::string_view name_of_pitch(Units pitch);
std::string_view name_of_line_spacing(Units line);

}  // namespace stationer::print
