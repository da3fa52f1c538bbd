// What a calibration sheet (print/sheet.h) shows of each language: rows with its styles.
#pragma once

#include <string>
#include <vector>

#include "print/settings.h"

namespace stationer::print {

struct SheetPiece {
  std::string text;
  std::string before = {};  // codes of the language
  std::string after = {};
  std::string over = {};  // struck over the text, from its first character on
};

struct SheetRow {
  std::vector<SheetPiece> pieces;
  // It is not as wide as so many characters at the usual pitch. Only of languages that can go to a
  // column.
  bool odd_width = false;
};

std::vector<SheetRow> style_rows(const Settings& settings);

// What a sheet begins with, so that nothing is left of the job before.
std::string start_codes(const Settings& settings);

// Codes that take the head to a column of the form, from 0; empty if the language has none.
std::string codes_to_column(const Settings& settings, int column);

}  // namespace stationer::print
