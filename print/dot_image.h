// The data of one bit image, which comes byte by byte, until it is whole and can be struck. What
// doesn't fit between the margins is taken and left out, so memory is bounded by the carriage.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "print/dot_modes.h"
#include "print/raster.h"

namespace stationer::print {

class DotImage {
 public:
  // So many columns of a mode, of which the first `fit` can be struck.
  void begin_columns(const DotMode& mode, std::uint32_t columns, std::uint32_t fit);
  // Rows of dots from the top down, the leftmost dot in the highest bit: ESC .
  void begin_rows(Units across, Units down, std::uint32_t columns, std::uint32_t rows,
                  std::uint32_t fit);

  void put(std::uint8_t byte, unsigned times);
  bool whole() const { return taken_ == expected_; }

  // Leaves out the second of two dots side by side, as a head does that is too slow for both; of
  // images by columns only (ESC/P Reference Manual C-189).
  void drop_neighbours();

  // x is where the first dot is struck, y the top of the needles.
  void strike(Raster& raster, Units x, Units y, Ink ink) const;

 private:
  void begin(std::size_t line_bytes, std::size_t kept_bytes, std::size_t expected);

  DotMode mode_;
  bool by_rows_ = false;
  std::uint32_t fit_ = 0;
  std::uint32_t rows_ = 0;
  std::size_t line_bytes_ = 0;  // of a row; of all columns
  std::size_t kept_bytes_ = 0;  // the first of those
  std::size_t expected_ = 0;
  std::size_t taken_ = 0;
  std::vector<std::uint8_t> bits_;
};

}  // namespace stationer::print
