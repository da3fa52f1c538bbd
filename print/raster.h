// Bit images of one page: gathers what the needles struck, pass by pass, and makes as few pictures
// of it as can be.
//
// Passes of one ink that touch or overlap become one picture on the coarsest grid that holds each
// of their dots exactly: bands of eight rows one below the other, and passes shifted by half a dot
// for twice the density. They stay apart where a common picture would be out of all proportion to
// them: more than four times their own bytes and 16 KiB.
//
// Memory is bounded. A picture has at most what a sheet of 16 x 22 inches takes at 360 x 360 dots
// to the inch; all bands of a page, and its pictures, take at most 12 MiB each. When the bands
// reach that, what was struck is put together; if that doesn't help, further bands are dropped and
// counted.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "print/page.h"

namespace stationer::print {

// One pass of the head: columns of dots side by side. Each has `column_bytes` bytes, the top dot in
// the highest bit of the first: 1 are 8 dots, 3 are 24, 6 are 48; 2 are 9, the ninth in the second
// byte's lowest bit.
struct Band {
  Units x = 0;  // the middle of the first column's top dot
  Units y = 0;
  Units across = 0;  // from one dot's middle to the next's
  Units down = 0;
  std::uint32_t columns = 0;
  unsigned column_bytes = 1;
  Ink ink = Ink::black;
};

class Raster {
 public:
  static constexpr std::size_t most_picture_bytes = std::size_t{16 * 360 / 8} * 22 * 360;
  static constexpr std::size_t most_bytes = std::size_t{12} << 20;
  static constexpr std::size_t most_bands = 10'000;

  explicit Raster(Units needle = needle_of_nine) : needle_(needle) {}

  // `columns` has band.columns * band.column_bytes bytes.
  void add(const Band& band, std::span<const std::uint8_t> columns);

  // Dots that come row by row. `bits` has image.row_bytes() * image.rows bytes; `image` says where
  // they stand, and neither its needle nor its place in a page counts.
  void add(const Image& image, std::span<const std::uint8_t> bits);

  bool empty() const { return pieces_.empty() && open_columns_.empty(); }

  // Adds the pictures to the page, ordered by ink, and forgets them.
  void give_to(Page& page);

  // Bands dropped so far, over all pages.
  std::uint64_t dropped() const { return dropped_; }

 private:
  struct Cluster;

  bool continues(const Band& band) const;
  void close();
  void keep(const Image& image, std::span<const std::uint8_t> bits);
  void make_room();
  void give_pictures(Page& page) const;
  std::vector<Cluster> clusters() const;
  void paint(const Cluster& cluster, std::vector<std::uint8_t>& bits) const;

  const Units needle_;
  std::uint64_t dropped_ = 0;

  // The band being struck: programs send one in several pieces, down to single columns.
  Band open_;
  std::vector<std::uint8_t> open_columns_;

  std::vector<Image> pieces_;  // their bits are in bits_
  std::vector<std::uint8_t> bits_;
  bool full_ = false;
};

}  // namespace stationer::print
