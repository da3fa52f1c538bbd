#include "print/dot_glyph.h"

#include <algorithm>
#include <cmath>

#include "print/dot_alphabet.h"

namespace stationer::print {
namespace {

constexpr char32_t box = U'\u25A1';

constexpr Units line = inches(1, 6);
constexpr Units ten_pitch = inches(1, 10);
constexpr Units smallest_full = 200;

// As on paper: about the slant of the typeface.
constexpr double slant = 0.2;

// Capitals are seven rows of nine needles high.
constexpr double capital_height = 7.0 / 72 * units_per_inch;

// Where the columns and rows of dots are in a cell.
struct Grid {
  double column = 0;  // from one to the next
  double row = 0;
  int columns = 0;
  int wide = 1;  // how often each column of the alphabet is struck
  int high = 1;
};

Grid grid_of(PrintHead head, CellSize size) {
  Grid grid;
  const auto times = [](Units length, Units usual) {
    return std::max(1, static_cast<int>(std::lround(static_cast<double>(length) / usual)));
  };
  grid.wide = times(size.pitch, ten_pitch);
  grid.high = times(size.height, line);
  const bool nine = head == PrintHead::nine;
  grid.columns = nine ? static_cast<int>(dot_columns) * grid.wide : std::max(1, size.pitch / 6);
  grid.column = static_cast<double>(size.pitch) / grid.columns;
  grid.row = nine ? inches(1, 72) : inches(1, 180);
  if (size.height < smallest_full) grid.row = grid.row * size.height / line;
  return grid;
}

bool fills_its_cell(char32_t character) {
  return character >= 0x2500 && character <= 0x259F;
}

// Of a quarter, half and three quarters of the dots: every fourth, and so on.
int shade(char32_t character) {
  return character >= 0x2591 && character <= 0x2593 ? static_cast<int>(character - 0x2590) : 0;
}

bool in_shade(int quarters, int column, int row) {
  const bool quarter = (column + 2 * row) % 4 == 0;
  switch (quarters) {
    case 1: return quarter;
    case 2: return (column + row) % 2 == 0;
    default: return !quarter;
  }
}

// An outline as straight edges, for what is inside it: where windings don't cancel out.
class Edges final : public Pen {
 public:
  void move(double x, double y) override {
    begin_x_ = x_ = x;
    begin_y_ = y_ = y;
  }
  void line(double x, double y) override {
    if (y != y_) edges_.push_back({x_, y_, x, y});
    x_ = x;
    y_ = y;
  }
  void curve(double control_x, double control_y, double x, double y) override {
    constexpr int steps = 6;
    const double from_x = x_;
    const double from_y = y_;
    for (int i = 1; i <= steps; ++i) {
      const double t = static_cast<double>(i) / steps;
      const double u = 1 - t;
      line(u * u * from_x + 2 * u * t * control_x + t * t * x,
           u * u * from_y + 2 * u * t * control_y + t * t * y);
    }
  }
  void close() override { line(begin_x_, begin_y_); }

  // Calls use(from, to) for each stretch at height `y` that is inside, from left to right.
  template <class Use>
  void at(double y, Use use) {
    crossings_.clear();
    for (const Edge& edge : edges_) {
      if ((edge.y1 <= y) == (edge.y2 <= y)) continue;
      const double x = edge.x1 + (edge.x2 - edge.x1) * (y - edge.y1) / (edge.y2 - edge.y1);
      crossings_.push_back({x, edge.y1 <= y ? 1 : -1});
    }
    std::sort(crossings_.begin(), crossings_.end(),
              [](const Crossing& a, const Crossing& b) { return a.x < b.x; });
    int winding = 0;
    double from = 0;
    for (const Crossing& crossing : crossings_) {
      if (winding == 0) from = crossing.x;
      winding += crossing.turn;
      if (winding == 0) use(from, crossing.x);
    }
  }

 private:
  struct Edge {
    double x1, y1, x2, y2;
  };
  struct Crossing {
    double x;
    int turn;
  };
  std::vector<Edge> edges_;
  std::vector<Crossing> crossings_;
  double begin_x_ = 0;
  double begin_y_ = 0;
  double x_ = 0;
  double y_ = 0;
};

// A row of places where a needle would strike, to those where it does: heads of nine can't strike
// two side by side, and those of 24 need only every second one of a stroke, whose ends lie half a
// needle within it.
void strike(PrintHead head, const std::vector<char>& wanted, const Grid& grid, double y,
            std::vector<HeadDot>& out) {
  const auto dot = [&](double column) {
    out.push_back({static_cast<Units>(std::lround((column + 0.5) * grid.column)),
                   static_cast<Units>(std::lround(y))});
  };
  const int count = static_cast<int>(wanted.size());
  for (int first = 0, end = 0; first < count; first = end) {
    end = first + 1;
    if (wanted[static_cast<std::size_t>(first)] == 0) continue;
    while (end < count && wanted[static_cast<std::size_t>(end)] != 0) ++end;
    if (head == PrintHead::nine) {
      for (int column = first; column < end; column += 2) dot(column);
    } else if (end - first <= 3) {
      dot((first + end - 1) / 2.0);
    } else {
      for (int column = first + 1; column < end - 2; column += 2) dot(column);
      dot(end - 2);
    }
  }
}

std::vector<HeadDot> drawn(const DotRows& rows, Style style, const Grid& grid) {
  std::vector<HeadDot> out;
  for (int row = 0; row < static_cast<int>(rows.size()); ++row) {
    for (int high = 0; high < grid.high; ++high) {
      // Seven rows are above the baseline.
      const double y = ((7 - row) * grid.high - high - 0.5) * grid.row;
      const double lean = has(style, Style::italic) ? slant * y : 0;
      for (int column = 0; column < static_cast<int>(dot_columns); ++column) {
        if ((rows[static_cast<std::size_t>(row)] & 0x800 >> column) == 0) continue;
        for (int copy = 0; copy < grid.wide; ++copy) {
          // A column that is struck again is a whole dot to the right, and bold half a dot.
          for (int again = 0; again <= (has(style, Style::bold) ? 1 : 0); ++again) {
            const double x = (column * grid.wide + 2 * copy + again + 0.5) * grid.column + lean;
            out.push_back({static_cast<Units>(std::lround(x)), static_cast<Units>(std::lround(y))});
          }
        }
      }
    }
  }
  return out;
}

// How the places of dots lie on an outline, one direction of it: at / `step` + `moved` is in
// columns from the left, or in rows from the bottom. What reaches `begin` or `end` reaches on
// without end.
struct Ruler {
  int count = 0;
  double step = 1;
  double moved = 0;
  double begin = -1e9;
  double end = 1e9;
};

// How far an outline covers the places of dots.
class Coverage {
 public:
  Coverage(Edges& edges, const Ruler& across, const Ruler& up)
      : columns_(static_cast<std::size_t>(across.count)),
        covered_(columns_ * static_cast<std::size_t>(up.count)) {
    constexpr int samples = 4;
    for (int sample = 0; sample < samples * up.count; ++sample) {
      double* into = &covered_[columns_ * static_cast<std::size_t>(sample / samples)];
      const double y = ((sample + 0.5) / samples - up.moved) * up.step;
      edges.at(std::clamp(y, up.begin, up.end), [&](double from, double to) {
        from = from <= across.begin ? 0 : std::max(from / across.step + across.moved, 0.0);
        to = to >= across.end ? across.count
                              : std::min<double>(to / across.step + across.moved, across.count);
        for (int i = static_cast<int>(from); i < to; ++i) {
          into[i] += (std::min(to, i + 1.0) - std::max(from, static_cast<double>(i))) / samples;
        }
      });
    }
  }

  // Whether a needle strikes there. A thin stroke that lies between two rows is in the one that has
  // more of it.
  bool strikes(int column, int row) const {
    constexpr double enough = 0.42;
    const std::size_t at =
        columns_ * static_cast<std::size_t>(row) + static_cast<std::size_t>(column);
    const double here = covered_[at];
    if (here >= enough) return true;
    const double under = at >= columns_ ? covered_[at - columns_] : 0;
    const double over = at + columns_ < covered_.size() ? covered_[at + columns_] : 0;
    return (under < enough && here > under && here + under >= enough) ||
           (over < enough && here >= over && here + over >= enough);
  }

 private:
  std::size_t columns_;
  std::vector<double> covered_;
};

std::vector<HeadDot> from_outline(PrintHead head, const Typeface& typeface, char32_t character,
                                  Style style, CellSize size, const Grid& grid) {
  Edges edges;
  typeface.draw(typeface.glyph(character), edges);
  const Metrics& metrics = typeface.metrics();
  const double column = metrics.advance * grid.column / size.pitch;
  const double usual = head == PrintHead::nine ? inches(1, 72) : inches(1, 180);
  const double row = metrics.cap_height * usual / (capital_height * grid.high);
  const int above = static_cast<int>(std::ceil(metrics.top / row));
  const int below = static_cast<int>(std::ceil(-metrics.bottom / row));
  const Coverage coverage(edges, {grid.columns, column}, {above + below, row, 1.0 * below});
  std::vector<HeadDot> out;
  std::vector<char> wanted(static_cast<std::size_t>(grid.columns));
  for (int i = above + below - 1; i >= 0; --i) {
    for (int at = 0; at < grid.columns; ++at) {
      wanted[static_cast<std::size_t>(at)] = coverage.strikes(at, i) ? 1 : 0;
    }
    const std::size_t first = out.size();
    const double y = (i - below + 0.5) * grid.row;
    strike(head, wanted, grid, y, out);
    if (has(style, Style::italic)) {
      for (std::size_t at = first; at < out.size(); ++at) {
        out[at].x += static_cast<Units>(std::lround(slant * y));
      }
    }
  }
  return out;
}

// The outline is stretched over the cell, and moved by half a column or row where that brings a
// line in the middle of the cell to the middle of one.
std::vector<HeadDot> over_the_cell(const Typeface& typeface, char32_t character, CellSize size,
                                   const Grid& grid) {
  Edges edges;
  typeface.draw(typeface.glyph(character), edges);
  const Metrics& metrics = typeface.metrics();
  const int rows = std::max(1, static_cast<int>(std::lround(size.height / grid.row)));
  const double row_height = static_cast<double>(size.height) / rows;
  const int below = static_cast<int>(std::lround(rows * 2 / 9.0));
  const int quarters = shade(character);
  const auto half = [](int count) { return count % 2 == 0 ? 0.5 : 0.0; };
  const double row = static_cast<double>(metrics.block_height) / rows;
  const double column = static_cast<double>(metrics.advance) / grid.columns;
  const double bottom = metrics.block_bottom;
  const Coverage coverage(
      edges, {grid.columns, column, half(grid.columns), 1, metrics.advance - 1.0},
      {rows, row, -bottom / row - half(rows), bottom + 1, bottom + metrics.block_height - 1});
  std::vector<HeadDot> out;
  for (int i = rows - 1; i >= 0; --i) {
    for (int place = 0; place < grid.columns; ++place) {
      const auto wanted = [&](int at) {
        return at >= 0 && at < grid.columns && coverage.strikes(at, i);
      };
      const bool struck =
          quarters != 0
              ? place % 2 == 0 && in_shade(quarters, place / 2, i)
              : wanted(place) && (place % 2 == 0 || !(wanted(place - 1) || wanted(place + 1)));
      if (!struck) continue;
      out.push_back({static_cast<Units>(std::lround((place + 0.5) * grid.column)),
                     static_cast<Units>(std::lround((i - below + 0.5) * row_height))});
    }
  }
  return out;
}

}  // namespace

bool DotGlyphs::has(char32_t character) const {
  return fonts_.regular.glyph(character) != 0 || fonts_.bold.glyph(character) != 0 ||
         drawn_dots(character).has_value();
}

std::vector<HeadDot> DotGlyphs::dots(char32_t character, Style style, CellSize size) const {
  if (size.pitch <= 0 || size.height <= 0 || print::has(style, Style::unseen)) return {};
  const Grid grid = grid_of(head_, size);
  if (head_ == PrintHead::nine) {
    if (const auto rows = drawn_dots(character)) return drawn(*rows, style, grid);
  }
  if (!has(character)) character = box;
  if (fills_its_cell(character)) return over_the_cell(fonts_.regular, character, size, grid);
  const bool bold = print::has(style, Style::bold) && fonts_.bold.glyph(character) != 0;
  const bool only_bold = fonts_.regular.glyph(character) == 0;
  return from_outline(head_, bold || only_bold ? fonts_.bold : fonts_.regular, character, style,
                      size, grid);
}

}  // namespace stationer::print
