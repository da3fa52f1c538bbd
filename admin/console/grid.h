// A screen of cells, drawn without a terminal: what the console shows is a function of what it
// knows and of the size, and tests read it as they would read a screen.
#pragma once

#include <cstddef>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace stationer::admin::console {

// What a piece of text is. The terminal shows it by colour where there is any, and by weight where
// there is none; no meaning hangs on it alone.
enum class Look : std::uint8_t {
  plain,
  strong,
  faint,
  bar,     // the line on top
  chosen,  // where one is in it
  key,     // a key that works
  picked,  // the row one is at
  good,
  warning,
  trouble,
  field,  // what is being typed
};

struct Cell {
  char32_t character = ' ';  // 0: the right half of the wide one before it
  char32_t mark = 0;         // one that combines with it
  Look look = Look::plain;

  bool operator==(const Cell&) const = default;
};

// A part of the screen, in cells from its upper left corner.
struct Area {
  int x = 0;
  int y = 0;
  int columns = 0;
  int lines = 0;
};

// How many cells a text takes as it is shown.
int width_of(std::string_view text);

// A paragraph as lines of at most that many cells.
std::vector<std::string> wrapped(std::string_view text, int columns);

class Grid {
 public:
  static constexpr int all = std::numeric_limits<int>::max();

  Grid(int columns, int lines);

  int columns() const { return columns_; }
  int lines() const { return lines_; }
  Area area() const { return {0, 0, columns_, lines_}; }
  const Cell& at(int x, int y) const { return cells_[index(x, y)]; }

  // Puts a text, made harmless, into at most `width` cells from there on; it ends with a sign when
  // there was more of it. Gives how many cells it took.
  int put(int x, int y, std::string_view text, Look look = Look::plain, int width = all);
  // The same with its end at the right edge of those cells.
  int put_right(int x, int y, std::string_view text, Look look, int width);
  // Makes all of it spaces.
  void fill(const Area& area, Look look = Look::plain);
  // A frame with nothing in it; gives what is inside.
  Area frame(const Area& area, std::string_view title);

  struct Place {
    int x = 0;
    int y = 0;
  };
  std::optional<Place> cursor;  // where one types

  // A line as text, without the spaces at its end.
  std::string line(int y) const;

 private:
  std::size_t index(int x, int y) const {
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(columns_) +
           static_cast<std::size_t>(x);
  }
  void set(int x, int y, const Cell& cell);

  int columns_;
  int lines_;
  std::vector<Cell> cells_;
};

}  // namespace stationer::admin::console
