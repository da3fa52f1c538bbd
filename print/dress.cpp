#include "print/dress.h"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "print/choice.h"
#include "print/pdf_file.h"
#include "print/points.h"

namespace stationer::print {
namespace {

constexpr std::array<LookName, 3> all_looks = {{
    {"plain", "letters of a typeface", Look::plain},
    {"dots", "the dots of a print head of 9 needles", Look::dots},
    {"fine-dots", "the dots of a print head of 24 needles", Look::fine_dots},
}};

double points(int micrometres) {
  return static_cast<double>(points_of_micrometres(micrometres)) / parts_of_a_point;
}

void append(std::string& out, std::initializer_list<double> numbers, std::string_view what) {
  for (const double number : numbers) {
    append_decimal(out, number, 3);
    out += ' ';
  }
  out.append(what).append("\n");
}

// Holes of 5/32 in, half an inch apart, in the middle of strips of half an inch (trade sizes), the
// first a quarter of an inch from the fold.
constexpr double hole_radius = 72.0 * 5 / 64;
constexpr double hole_distance = 36;
constexpr double first_hole = 18;

// A circle of four Bézier curves.
void append_circle(std::string& out, double x, double y, double r) {
  const double k = 0.5523 * r;
  append(out, {x + r, y}, "m");
  append(out, {x + r, y + k, x + k, y + r, x, y + r}, "c");
  append(out, {x - k, y + r, x - r, y + k, x - r, y}, "c");
  append(out, {x - r, y - k, x - k, y - r, x, y - r}, "c");
  append(out, {x + k, y - r, x + r, y - k, x + r, y}, "c");
}

void append_edges(std::string& out, const Paper& paper) {
  const double width = points(paper.width);
  const double height = points(paper.height);
  const double strip = points(paper.strip);
  out += "q .6 G .5 w\n";
  for (double y = height - first_hole; y > 0; y -= hole_distance) {
    append_circle(out, strip / 2, y, hole_radius);
    append_circle(out, width - strip / 2, y, hole_radius);
  }
  out += "S [2] 0 d\n";
  append(out, {strip, 0}, "m");
  append(out, {strip, height}, "l");
  append(out, {width - strip, 0}, "m");
  append(out, {width - strip, height}, "l");
  out += "S Q\n";
}

void append_bars(std::string& out, const Paper& paper) {
  constexpr double bar = 36;
  const double height = points(paper.height);
  const double strip = points(paper.strip);
  out += "q /C cs .87 .95 .88 sc\n";
  for (double top = height - bar; top > 0; top -= 2 * bar) {
    const double bottom = std::max(top - bar, 0.0);
    append(out, {strip, bottom, points(paper.width) - 2 * strip, top - bottom}, "re");
  }
  out += "f Q\n";
}

}  // namespace

std::span<const LookName> looks() {
  return all_looks;
}

fs::Result<Look> find_look(std::string_view name) {
  const fs::Result<LookName> found = choose(looks(), name, "look");
  if (!found) return found.error();
  return found->look;
}

std::string_view name_of(Look look) {
  return std::find_if(all_looks.begin(), all_looks.end(),
                      [look](const LookName& each) { return each.look == look; })
      ->name;
}

fs::Status check(const Dress& dress, const Paper& paper) {
  if (dress.edges && paper.strip == 0) {
    return fs::Error{fs::Code::bad_input,
                     fmt::format("The paper {} ({}) has no strips with holes, so its edges can't "
                                 "be drawn. Take fanfold with its strips.",
                                 paper.name, paper.title)};
  }
  if (dress.pages_a_sheet != 1 && dress.pages_a_sheet != 2 && dress.pages_a_sheet != 4) {
    return fs::Error{fs::Code::bad_input, "A sheet takes 1, 2 or 4 pages."};
  }
  return {};
}

std::string draw_paper(const Dress& dress, const Paper& paper) {
  std::string out;
  if (dress.bars) append_bars(out, paper);
  if (dress.edges) append_edges(out, paper);
  return out;
}

SheetPlan plan_sheet(const Dress& dress, const Paper& paper) {
  SheetPlan sheet;
  sheet.paper = dress.pages_a_sheet == 2 ? turned(paper) : paper;
  // Two pages go beside or below each other, whichever a turned sheet has the room for.
  const int rows =
      dress.pages_a_sheet == 4 || (dress.pages_a_sheet == 2 && paper.width > paper.height) ? 2 : 1;
  const int columns = dress.pages_a_sheet / rows;
  const double room_x = points(sheet.paper.width) / columns;
  const double room_y = points(sheet.paper.height) / rows;
  const double width = points(paper.width);
  const double height = points(paper.height);
  sheet.scale = std::min({room_x / width, room_y / height, 1.0});
  for (int row = 0; row < rows; ++row) {
    for (int column = 0; column < columns; ++column) {
      sheet.places.push_back({column * room_x + (room_x - width * sheet.scale) / 2,
                              (rows - 1 - row) * room_y + (room_y - height * sheet.scale) / 2});
    }
  }
  return sheet;
}

}  // namespace stationer::print
