// The sheets Stationer prints on, under the names that settings use.
//
// Cut sheets: ISO 216 (A4, A5) and ASME Y14.1 (Letter); Legal and fanfold are sizes of the trade.
// Fanfold has a strip with sprocket holes along either edge, half an inch wide, which is torn off.
#pragma once

#include <span>
#include <string_view>

#include "fs/result.h"
#include "print/units.h"

namespace stationer::print {

// Sizes are in micrometres, in which both millimetres and the inch sizes below are whole.
struct Paper {
  std::string_view name;   // "fanfold-11"
  std::string_view title;  // "Fanfold, 9.5 x 11 in, with its strips"
  int width = 0;
  int height = 0;
  int strip = 0;  // at either edge, not to be printed on

  bool operator==(const Paper&) const = default;
};

std::span<const Paper> papers();

// Code::bad_input with the names there are.
fs::Result<Paper> find_paper(std::string_view name);

// The same sheet with its long edge where the short one was.
Paper turned(Paper paper);

// Micrometres to whole u, rounded down: what certainly fits.
constexpr Units units(int micrometres) {
  // 2160 u to 25,400 um, in lowest terms.
  return static_cast<Units>(std::int64_t{micrometres} * 54 / 635);
}

// How many lines of `line` u fit on the sheet.
int lines_on(const Paper& paper, Units line);

// The columns between the strips, at whole multiples of `pitch` u from the sheet's left edge: which
// is the first, and how many fit.
int first_column_on(const Paper& paper, Units pitch);
int columns_on(const Paper& paper, Units pitch);

}  // namespace stationer::print
