// Bit images as PDF has them: stencil masks of one bit a dot (ISO 32000-1 section 8.9.6.2), each
// dot's middle where the needle struck.
//
// A needle is wider than the distance between dots. In the plain look a dot is drawn as a rectangle
// of as many cells of the image's grid as come closest to the needle, so that what overlaps on
// paper is solid here.
//
// In the dot look it is round: masks are painted with a pattern of discs (section 8.7.3). So that
// each disc has a cell for itself, the image is dealt out to several masks, in each of which the
// dots are at least a needle apart: at 120 x 72 dots to the inch and a needle of 1/72, one for
// every other column. An image's masks are in a form of its own; if it has an ink the form is a
// group, so that it mixes with other images but not with itself.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <unordered_map>

#include "print/page.h"
#include "print/paper.h"
#include "print/pdf_file.h"
#include "print/points.h"

namespace stationer::print {

class PdfImages {
 public:
  // `file` must outlive it.
  PdfImages(PdfFile& file, bool round, const Paper& paper);

  // Forgets the page before.
  void begin();
  // Writes the page's images. What they are to the page is told until the next call, what they are
  // to its sheet until begin(). `ink_space` is the object of the colours' space, if there is one.
  void write(const Page& page, int ink_space);

  std::string_view operators() const { return operators_; }  // paints the page's

  bool none() const { return entries_.empty(); }         // on the whole sheet
  std::string_view entries() const { return entries_; }  // for its XObjects

 private:
  // A grid of cells with their middles on it, its first at x, y in u.
  struct Mask {
    std::int64_t twice_left = 0;  // of its left and top edge, in half u
    std::int64_t twice_top = 0;
    Units across = 0;
    Units down = 0;
    std::uint32_t columns = 0;
    std::uint32_t rows = 0;

    std::size_t row_bytes() const { return (std::size_t{columns} + 7) / 8; }
  };

  void write_solid(const Image& image, std::span<const std::uint8_t> bits);
  void write_round(const Image& image, std::span<const std::uint8_t> bits, int ink_space);
  int pattern(const Mask& mask, const Image& image, int ink_space);
  int write_mask(const Mask& mask);
  std::string paint(const Mask& mask, int number) const;

  PdfFile& file_;
  const bool round_;
  const Points height_;  // of the sheet
  std::string operators_;
  std::string entries_;
  std::string bits_;  // of a mask; kept for its memory
  std::unordered_map<std::string, int> known_patterns_;
};

}  // namespace stationer::print
