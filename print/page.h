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

// Styles add up: bold_italic is both. An outline is hollow; a shadow falls to the right and below.
// What is unseen is text without a shape: dots show it.
enum class Style : std::uint8_t {
  plain = 0,
  bold = 1,
  italic = 2,
  bold_italic = 3,
  outline = 4,
  shadow = 8,
  unseen = 16
};

constexpr Style operator|(Style one, Style other) {
  return static_cast<Style>(static_cast<unsigned>(one) | static_cast<unsigned>(other));
}

constexpr bool has(Style style, Style part) {
  return (static_cast<unsigned>(style) & static_cast<unsigned>(part)) != 0;
}

// The colours of a printer's ribbon.
enum class Ink : std::uint8_t { black, magenta, cyan, violet, yellow, red, green };

// A Unicode character as it shows; a space is a character like others.
struct Cell {
  char32_t character = U' ';
  Style style = Style::plain;
  Ink ink = Ink::black;

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
  Ink ink = Ink::black;
};

// How wide a dot is on the paper: the needles of a print head, which overlap their neighbours.
// Heads of 9 pins have needles of 1/72 inch, those of 24 of 1/120 (from memory).
inline constexpr Units needle_of_nine = inches(1, 72);
inline constexpr Units needle_of_24 = inches(1, 120);

// Dots on a grid: what needles struck as a picture. Its rows are in the page's bits, top row first,
// each of (columns + 7) / 8 bytes, the leftmost dot in the highest bit; a 1 is a dot.
struct Image {
  Units x = 0;  // the middle of the top left dot
  Units y = 0;
  Units across = 0;  // from one dot's middle to the next's
  Units down = 0;
  std::uint32_t columns = 0;
  std::uint32_t rows = 0;
  Ink ink = Ink::black;
  Units needle = needle_of_nine;  // a dot's diameter
  std::size_t first = 0;          // in the page's bits

  std::size_t row_bytes() const { return (columns + 7) / 8; }
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
  // `bits` are the image's rows, whose place among the page's is found here.
  void add_image(Image image, std::span<const std::uint8_t> bits) {
    image.first = bits_.size();
    images_.push_back(image);
    bits_.insert(bits_.end(), bits.begin(), bits.end());
  }

  bool empty() const {
    return runs_.empty() && marks_.empty() && rules_.empty() && images_.empty();
  }

  // Makes the page blank, keeping its memory for the next one.
  void clear() {
    runs_.clear();
    cells_.clear();
    marks_.clear();
    rules_.clear();
    images_.clear();
    bits_.clear();
  }

  std::span<const Run> runs() const { return runs_; }
  std::span<const Mark> marks() const { return marks_; }
  std::span<const Rule> rules() const { return rules_; }
  std::span<const Image> images() const { return images_; }
  std::span<const Cell> cells(const Run& run) const {
    return std::span(cells_).subspan(run.first, run.count);
  }
  std::span<const std::uint8_t> bits(const Image& image) const {
    return std::span(bits_).subspan(image.first, image.row_bytes() * image.rows);
  }

 private:
  std::vector<Run> runs_;
  std::vector<Cell> cells_;
  std::vector<Mark> marks_;
  std::vector<Rule> rules_;
  std::vector<Image> images_;
  std::vector<std::uint8_t> bits_;
};

}  // namespace stationer::print
