#include "print/dot_image.h"

#include <algorithm>

namespace stationer::print {

void DotImage::begin(std::size_t line_bytes, std::size_t kept_bytes, std::size_t expected) {
  line_bytes_ = line_bytes;
  kept_bytes_ = kept_bytes;
  expected_ = expected;
  taken_ = 0;
  bits_.clear();
}

void DotImage::begin_columns(const DotMode& mode, std::uint32_t columns, std::uint32_t fit) {
  mode_ = mode;
  by_rows_ = false;
  fit_ = std::min(columns, fit);
  begin(columns * mode.bytes, fit_ * mode.bytes, columns * mode.bytes);
}

void DotImage::begin_rows(Units across, Units down, std::uint32_t columns, std::uint32_t rows,
                          std::uint32_t fit) {
  mode_ = {across, down};
  by_rows_ = true;
  fit_ = std::min(columns, fit);
  rows_ = rows;
  const std::size_t row_bytes = (columns + 7) / 8;
  begin(row_bytes, (fit_ + 7) / 8, row_bytes * rows);
}

void DotImage::put(std::uint8_t byte, unsigned times) {
  for (; times > 0 && taken_ < expected_; --times, ++taken_) {
    if (taken_ % line_bytes_ < kept_bytes_) bits_.push_back(byte);
  }
}

void DotImage::drop_neighbours() {
  if (by_rows_) return;
  for (std::size_t i = mode_.bytes; i < bits_.size(); ++i) {
    bits_[i] &= static_cast<std::uint8_t>(~bits_[i - mode_.bytes]);
  }
}

void DotImage::strike(Raster& raster, Units x, Units y, Ink ink) const {
  if (fit_ == 0) return;
  const Units top = y + mode_.down / 2;
  if (by_rows_) {
    Image image;
    image.x = x;
    image.y = top;
    image.across = mode_.across;
    image.down = mode_.down;
    image.columns = fit_;
    image.rows = rows_;
    image.ink = ink;
    raster.add(image, bits_);
  } else {
    raster.add(Band{x, top, mode_.across, mode_.down, fit_, mode_.bytes, ink}, bits_);
  }
}

}  // namespace stationer::print
