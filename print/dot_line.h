// The line that a dot-matrix printer keeps until something prints it: the codes that take
// characters back and those that move a line between its margins work on it.
//
// ESC/P Reference Manual (1997) R-59 (what is underlined); programmer manuals for ESC a. Full lines
// are taken from memory: the last blank ends them, and the blanks in them share what is left.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

#include "print/dot_type.h"
#include "print/strikes.h"

namespace stationer::print {

// A character or a blank in the line; x is from where the head is at home.
struct LineItem {
  Units x = 0;
  Units advance = 0;  // to the next; what an underline is as long as
  Units drop = 0;     // below the line's baseline
  CellSize size;
  Cell cell;
  bool underlined = false;
  std::array<Score, 3> scores{};
  std::optional<std::uint8_t> download;  // whose dots show it
};

class DotLine {
 public:
  // A line that never ends is printed when it is as long as that.
  static constexpr std::size_t most = 4096;

  bool empty() const { return items_.empty(); }
  bool full() const { return items_.size() >= most; }
  void add(const LineItem& item) { items_.push_back(item); }

  // Where the line begins and ends; 0 when it is empty.
  Units begin() const { return items_.empty() ? 0 : items_.front().x; }
  Units end() const { return items_.empty() ? 0 : items_.back().x + items_.back().advance; }

  void clear() { items_.clear(); }
  // The last one, which is taken out.
  std::optional<LineItem> take_last();

  void shift(Units by);
  // Cuts the line behind its last blank and spreads what stands before it to `right`. The rest
  // begins at `left` and is the line then; what went before it is given back. Nothing is done, and
  // nothing given, when the line has no blank.
  std::vector<LineItem> break_line(Units left, Units right);

  std::span<const LineItem> items() const { return items_; }

 private:
  std::vector<LineItem> items_;
};

void print_items(std::span<const LineItem> items, Strikes& strikes, Units left, Units baseline);

}  // namespace stationer::print
