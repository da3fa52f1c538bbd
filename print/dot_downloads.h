// Characters that a job has made itself, dot by dot (ESC &): where they stand for codes, their dots
// are struck, and the code's own character is the text.
//
// LX-80 manual B-3 and ESC/P Reference Manual C-84 tell their bytes. How far apart their dots are
// is from memory: eleven columns of 1/120 inch in draft, finer ones in better quality.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "print/dot_modes.h"
#include "print/dot_type.h"
#include "print/raster.h"

namespace stationer::print {

class DotDownloads {
 public:
  explicit DotDownloads(Pins pins) : pins_(pins) {}

  // A character begins, with what stands before its dots, which are `bytes` long.
  void begin(std::span<const std::uint8_t> arguments, std::uint64_t bytes, const DotType& type);
  void put(std::uint8_t byte);
  void clear();  // ESC :

  bool has(std::uint8_t code) const { return !made_[code].dots.empty(); }
  // How wide it is where characters are proportional.
  Units width(std::uint8_t code) const;

  // In a cell as wide as `cell`, if all were 1/10 inch wide; y is the top of the needles.
  void strike(std::uint8_t code, Raster& raster, Units x, Units y, Units cell, Ink ink) const;

 private:
  struct Made {
    std::uint8_t before = 0;  // columns without dots
    std::uint8_t columns = 0;
    std::uint8_t after = 0;
    bool lowered = false;  // by one needle, for descenders
    unsigned bytes = 1;    // a column
    Units across = 0;
    Units down = 0;
    std::vector<std::uint8_t> dots;
  };

  const Pins pins_;
  std::array<Made, 256> made_;
  std::uint8_t current_ = 0;
};

}  // namespace stationer::print
