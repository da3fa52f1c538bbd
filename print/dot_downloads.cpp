#include "print/dot_downloads.h"

namespace stationer::print {
namespace {

constexpr unsigned draft_columns = 11;
constexpr std::uint8_t not_lowered = 0x80;

}  // namespace

void DotDownloads::begin(std::span<const std::uint8_t> arguments, std::uint64_t bytes,
                         const DotType& type) {
  current_ = arguments[0];
  Made& made = made_[current_];
  made = Made();
  if (arguments.size() == 2) {
    made.columns = draft_columns;
    made.after = 1;
    made.lowered = (arguments[1] & not_lowered) == 0;
    made.across = inches(1, 120);
    made.down = inches(1, 72);
    return;
  }
  made.before = arguments[1];
  made.columns = arguments[2];
  made.after = arguments[3];
  if (made.columns != 0) made.bytes = static_cast<unsigned>(bytes / made.columns);
  if (pins_ == Pins::nine) {
    made.across = inches(1, 240);
    made.down = inches(1, 144);
  } else {
    made.across = type.near_letter_quality ? inches(1, 360) : inches(1, 120);
    made.down = inches(1, 180);
  }
}

void DotDownloads::put(std::uint8_t byte) {
  made_[current_].dots.push_back(byte);
}

void DotDownloads::clear() {
  made_ = {};
}

Units DotDownloads::width(std::uint8_t code) const {
  const Made& made = made_[code];
  return (made.before + made.columns + made.after) * made.across;
}

void DotDownloads::strike(std::uint8_t code, Raster& raster, Units x, Units y, Units cell,
                          Ink ink) const {
  const Made& made = made_[code];
  const Units across = std::max(1, made.across * cell / inches(1, 10));
  const Units lowered = made.lowered ? made.down : 0;
  raster.add(Band{x + made.before * across, y + lowered + made.down / 2, across, made.down,
                  made.columns, made.bytes, ink},
             made.dots);
}

}  // namespace stationer::print
