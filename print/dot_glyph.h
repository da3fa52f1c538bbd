// Characters as the needles of a print head strike them.
//
// A head of nine needles has the alphabet of dot_alphabet.h; what isn't in that, and everything on
// a head of 24, is made from the typeface's outline: a needle strikes where the outline covers
// enough of its place. Box drawing and blocks fill their cell and join with their neighbours.
//
// The needles keep their size; what changes with the cell is where they strike. Wider cells have
// each column twice, and cells half as high again as a line have each row twice; narrow cells have
// their columns closer, and cells below 200 u, which are superscripts and subscripts, their rows.
#pragma once

#include <vector>

#include "print/font_subset.h"
#include "print/page.h"

namespace stationer::print {

enum class PrintHead : std::uint8_t { nine, twenty_four };

constexpr Units needle(PrintHead head) {
  return head == PrintHead::nine ? needle_of_nine : needle_of_24;
}

// The middle of a dot, from the left end of its cell's baseline, y upward.
struct HeadDot {
  Units x = 0;
  Units y = 0;

  bool operator==(const HeadDot&) const = default;
  auto operator<=>(const HeadDot&) const = default;
};

class DotGlyphs {
 public:
  // `fonts` must outlive it.
  DotGlyphs(const Fonts& fonts, PrintHead head) : fonts_(fonts), head_(head) {}

  PrintHead head() const { return head_; }

  // False when the character has no shape: dots() then gives a box.
  bool has(char32_t character) const;

  // Row by row; none of what is unseen. Outline and shadow styles change nothing.
  std::vector<HeadDot> dots(char32_t character, Style style, CellSize size) const;

 private:
  const Fonts& fonts_;
  const PrintHead head_;
};

}  // namespace stationer::print
