// A sheet while it is being struck: characters at any places in any order, as printers leave them
// whose head and paper move freely. At the page's end it becomes the runs, marks and rules of
// print/page.h:
//
// - one run for what stands side by side on a baseline at one pitch, with real blanks in it from
//   the left margin on, in reading order;
// - what was struck within 1/60 inch of each other, in either direction, is one place, and amounts
//   to what print/overstrike.h says: the same again is bold, an underscore underlines, an accent
//   makes the letter of Unicode;
// - rules that touch and go on in one line are one rule.
//
// A sheet takes as many strikes as `most`, and as many rules: twice what a dense page holds when
// each character is struck twice. What comes beyond is not shown and is counted.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "print/page.h"

namespace stationer::print {

class Strikes {
 public:
  static constexpr std::size_t most = std::size_t{1} << 17;

  // Lines have their blanks from `left` on, as far as they stand at whole pitches from there.
  explicit Strikes(Units left) : left_(left) {}

  // A character in the cell whose left end is x. Blanks leave no trace; to be underlined, they need
  // a rule of their own.
  void strike(Units x, Units baseline, CellSize size, const Cell& cell);

  // A line under the cell, where those stand that underscores make.
  void underline(Units x, Units baseline, CellSize size, Ink ink);
  // Any other filled rectangle.
  void rule(const Rule& rule);

  bool empty() const { return strikes_.empty() && rules_.empty(); }

  // Adds to the page all that was struck, and is empty again.
  void give_to(Page& page);

  std::uint64_t blots() const { return blots_; }  // places that amount to no character
  std::uint64_t lost() const { return lost_; }    // strikes and rules beyond the most

 private:
  struct Strike {
    Units x = 0;
    Units baseline = 0;
    CellSize size;
    Cell cell;
    std::uint32_t order = 0;  // among those of the sheet
  };
  // What is to be seen at a place.
  struct Glyph {
    Units x = 0;
    Units baseline = 0;
    CellSize size;
    Cell cell;
    bool underlined = false;
    bool underscore = false;
  };

  void resolve_lines(Page& page);
  void resolve_line(std::span<Strike> line, Page& page);
  void resolve_place(std::span<Strike> strikes, Page& page);
  void underline_line();
  void add_runs(Page& page);
  void give_rules(Page& page);

  const Units left_;
  std::vector<Strike> strikes_;
  bool in_order_ = true;  // by baseline, then x
  std::vector<Rule> rules_;
  std::vector<Glyph> line_;
  std::vector<Cell> run_;
  std::size_t blanks_left_ = 0;
  std::uint64_t blots_ = 0;
  std::uint64_t lost_ = 0;
};

// Where a line of text is underlined: how far below its baseline, and how thick.
constexpr Rule underline_of(Units x, Units baseline, Units width, Units height, Ink ink) {
  return {x, baseline + height / 12, width, height / 24, ink};
}

}  // namespace stationer::print
