#include "print/paper.h"

#include <array>
#include <utility>

#include "print/choice.h"

namespace stationer::print {
namespace {

constexpr int mm(int millimetres) {
  return millimetres * 1000;
}
constexpr int thousandths(int of_an_inch) {
  return of_an_inch * 254 / 10;
}

constexpr int strip = thousandths(500);

constexpr std::array<Paper, 9> sheets = {{
    {"a4", "A4, 210 x 297 mm", mm(210), mm(297), 0},
    {"a5", "A5, 148 x 210 mm", mm(148), mm(210), 0},
    {"letter", "Letter, 8.5 x 11 in", thousandths(8500), thousandths(11000), 0},
    {"legal", "Legal, 8.5 x 14 in", thousandths(8500), thousandths(14000), 0},
    {"fanfold-11", "Fanfold, 9.5 x 11 in with its strips", thousandths(9500), thousandths(11000),
     strip},
    {"fanfold-11-torn", "Fanfold, 8.5 x 11 in, strips torn off", thousandths(8500),
     thousandths(11000), 0},
    {"fanfold-11-wide", "Wide fanfold, 14.875 x 11 in with its strips", thousandths(14875),
     thousandths(11000), strip},
    {"fanfold-12", "Fanfold, 9.5 x 12 in with its strips", thousandths(9500), thousandths(12000),
     strip},
    {"fanfold-12-torn", "Fanfold, 8.5 x 12 in, strips torn off", thousandths(8500),
     thousandths(12000), 0},
}};

}  // namespace

std::span<const Paper> papers() {
  return sheets;
}

fs::Result<Paper> find_paper(std::string_view name) {
  return choose(papers(), name, "paper");
}

Paper turned(Paper paper) {
  std::swap(paper.width, paper.height);
  return paper;
}

int lines_on(const Paper& paper, Units line) {
  return units(paper.height) / line;
}

int first_column_on(const Paper& paper, Units pitch) {
  return (units(paper.strip) + pitch - 1) / pitch;
}

int columns_on(const Paper& paper, Units pitch) {
  return units(paper.width - paper.strip) / pitch - first_column_on(paper, pitch);
}

}  // namespace stationer::print
