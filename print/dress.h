// How a printout is dressed: what the pages look like beyond what the job printed.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fs/result.h"
#include "print/paper.h"

namespace stationer::print {

// Letters of a typeface, or the dots of a print head of 9 or 24 needles.
enum class Look : std::uint8_t { plain, dots, fine_dots };

struct LookName {
  std::string_view name;   // as settings write it
  std::string_view title;  // for people
  Look look;
};

std::span<const LookName> looks();

// Code::bad_input with the names there are.
fs::Result<Look> find_look(std::string_view name);
std::string_view name_of(Look look);

struct Dress {
  Look look = Look::plain;
  bool bars = false;      // shaded bars of half an inch, as on listing paper
  bool edges = false;     // the strips of fanfold with their holes
  int pages_a_sheet = 1;  // 1, 2 or 4, made smaller
};

// Code::bad_input when the paper has no edges to be drawn, or so many pages don't go on a sheet.
fs::Status check(const Dress& dress, const Paper& paper);

// PDF operators that draw the paper itself, for a page with its origin at the bottom left; empty
// when it is plain. Bars are in the colour space print/pdf_ink.h names.
std::string draw_paper(const Dress& dress, const Paper& paper);

// Where the pages of a sheet go: how much smaller they are, and where each has its bottom left
// corner, in the order of reading.
struct SheetPlan {
  struct Place {
    double x = 0;  // in points
    double y = 0;
  };
  Paper paper;
  double scale = 1;
  std::vector<Place> places;
};

SheetPlan plan_sheet(const Dress& dress, const Paper& paper);

}  // namespace stationer::print
