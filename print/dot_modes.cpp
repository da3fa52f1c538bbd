#include "print/dot_modes.h"

#include <algorithm>
#include <array>

namespace stationer::print {
namespace {

struct Row {
  std::uint8_t number;
  unsigned bytes;
  Units across;
  Units down_nine;         // 0: not with nine pins
  Units down_twenty_four;  // 0: not with twenty-four, nor forty-eight
  bool neighbours = true;
};

// Mode 40 has no neighbours by R-67; a later printer's manual has them, and so do we.
constexpr std::array<Row, 19> rows = {{
    {0, 1, inches(1, 60), inches(1, 72), inches(1, 60)},
    {1, 1, inches(1, 120), inches(1, 72), inches(1, 60)},
    {2, 1, inches(1, 120), inches(1, 72), inches(1, 60), false},
    {3, 1, inches(1, 240), inches(1, 72), inches(1, 60), false},
    {4, 1, inches(1, 80), inches(1, 72), inches(1, 60)},
    {5, 1, inches(1, 72), inches(1, 72), 0},
    {6, 1, inches(1, 90), inches(1, 72), inches(1, 60)},
    {7, 1, inches(1, 144), inches(1, 72), 0},
    {32, 3, inches(1, 60), 0, inches(1, 180)},
    {33, 3, inches(1, 120), 0, inches(1, 180)},
    {38, 3, inches(1, 90), 0, inches(1, 180)},
    {39, 3, inches(1, 180), 0, inches(1, 180)},
    {40, 3, inches(1, 360), 0, inches(1, 180)},
    {64, 6, inches(1, 60), 0, inches(1, 360)},
    {65, 6, inches(1, 120), 0, inches(1, 360)},
    {70, 6, inches(1, 90), 0, inches(1, 360)},
    {71, 6, inches(1, 180), 0, inches(1, 360)},
    {72, 6, inches(1, 360), 0, inches(1, 360), false},
    {73, 6, inches(1, 360), 0, inches(1, 360)},
}};

const Row* find(std::uint8_t number) {
  const auto at = std::find_if(rows.begin(), rows.end(),
                               [number](const Row& row) { return row.number == number; });
  return at == rows.end() ? nullptr : &*at;
}

}  // namespace

std::optional<DotMode> find_dot_mode(Pins pins, std::uint8_t number) {
  const Row* const row = find(number);
  if (row == nullptr) return std::nullopt;
  const Units down = pins == Pins::nine ? row->down_nine : row->down_twenty_four;
  if (down == 0) return std::nullopt;
  return DotMode{row->across, down, row->bytes, row->neighbours};
}

std::optional<DotMode> find_nine_dot_mode(std::uint8_t number) {
  if (number > 1) return std::nullopt;
  return DotMode{number == 0 ? inches(1, 60) : inches(1, 120), inches(1, 72), 2};
}

unsigned bytes_a_column(std::uint8_t number) {
  const Row* const row = find(number);
  return row == nullptr ? 1 : row->bytes;
}

}  // namespace stationer::print
