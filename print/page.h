// A page: what interpreters make of a job's bytes and what the PDF writer takes. It says what
// stands where, and knows neither the language the job was written in nor the fonts.
//
// Positions are in u (print/units.h) from the sheet's top left corner, x rightward, y downward.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "print/units.h"

namespace stationer::print {

// Styles add up: bold_italic is both.
enum class Style : std::uint8_t { plain = 0, bold = 1, italic = 2, bold_italic = 3 };

constexpr bool has(Style style, Style part) {
  return (static_cast<unsigned>(style) & static_cast<unsigned>(part)) != 0;
}

// A Unicode character as it shows; a space is a character like others.
struct Cell {
  char32_t character = U' ';
  Style style = Style::plain;

  bool operator==(const Cell&) const = default;
};

// The room a character stands in: from one to the next, and the height its glyph is fitted to.
// Double width is a run with twice the pitch.
struct CellSize {
  Units pitch = 0;
  Units height = 0;

  bool operator==(const CellSize&) const = default;
};

// Characters side by side on one baseline. Everything on a baseline at one pitch should be one run,
// blank columns included: viewers and searches then see one line.
struct Run {
  Units x = 0;
  Units baseline = 0;
  CellSize size;
  std::size_t first = 0;  // in the page's cells
  std::size_t count = 0;
};

// A glyph that is seen but is no text: what was struck over and is not what a search should find.
struct Mark {
  Units x = 0;
  Units baseline = 0;
  CellSize size;
  Cell cell;
};

// A filled rectangle: an underline, a ruled line.
struct Rule {
  Units x = 0;
  Units y = 0;
  Units width = 0;
  Units height = 0;
};

class Page {
 public:
  // Runs may come in any order.
  void add_run(Units x, Units baseline, CellSize size, std::span<const Cell> cells) {
    runs_.push_back({x, baseline, size, cells_.size(), cells.size()});
    cells_.insert(cells_.end(), cells.begin(), cells.end());
  }
  void add_mark(const Mark& mark) { marks_.push_back(mark); }
  void add_rule(const Rule& rule) { rules_.push_back(rule); }

  bool empty() const { return runs_.empty() && marks_.empty() && rules_.empty(); }

  // Makes the page blank, keeping its memory for the next one.
  void clear() {
    runs_.clear();
    cells_.clear();
    marks_.clear();
    rules_.clear();
  }

  std::span<const Run> runs() const { return runs_; }
  std::span<const Mark> marks() const { return marks_; }
  std::span<const Rule> rules() const { return rules_; }
  std::span<const Cell> cells(const Run& run) const {
    return std::span(cells_).subspan(run.first, run.count);
  }

 private:
  std::vector<Run> runs_;
  std::vector<Cell> cells_;
  std::vector<Mark> marks_;
  std::vector<Rule> rules_;
};

}  // namespace stationer::print
