#include "print/ecma48_sizes.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace stationer::print {
namespace {

constexpr double inch = units_per_inch;
constexpr double millimetre = inch / 25.4;
constexpr Units longest = inches(22);

// SSU 0 to 8. What a pixel is, the standard leaves to the device; 1/360 inch is a fine printer's.
constexpr std::array<double, 9> units = {
    0,           millimetre,        inch / 720, millimetre * 10 / 266, inch / 1000,
    inch / 1200, millimetre / 1000, inch / 360, millimetre * 35 / 996};

constexpr std::array<Units, 7> character_spacings = {inches(1, 10), inches(1, 12), inches(1, 15),
                                                     inches(1, 6),  inches(1, 3),  inches(2, 9),
                                                     inches(1, 4)};

Units rounded(double length) {
  return static_cast<Units>(std::clamp<long>(std::lround(length), 1, longest));
}

}  // namespace

bool is_size_unit(std::uint32_t unit) {
  return unit < units.size();
}

std::optional<Units> length_of(std::uint32_t number, std::uint32_t unit, Units character) {
  if (!is_size_unit(unit)) return std::nullopt;
  return rounded(number * (unit == 0 ? character : units[unit]));
}

std::optional<Units> character_spacing(std::uint32_t choice) {
  if (choice >= character_spacings.size()) return std::nullopt;
  return character_spacings[choice];
}

std::optional<Units> line_spacing(std::uint32_t choice) {
  switch (choice) {
    case 0: return inches(1, 6);
    case 1: return inches(1, 4);
    case 2: return inches(1, 3);
    case 3: return inches(1, 12);
    case 4: return inches(1, 8);
    case 5: return rounded(millimetre * 30 / 6);
    case 6: return rounded(millimetre * 30 / 4);
    case 7: return rounded(millimetre * 30 / 3);
    case 8: return rounded(millimetre * 30 / 12);
    case 9: return inches(1, 2);
    default: return std::nullopt;
  }
}

std::optional<SheetSize> sheet_size(std::uint32_t choice) {
  const SheetSize a4 = {rounded(millimetre * 210), rounded(millimetre * 297)};
  constexpr SheetSize letter = {inches(17, 2), inches(11)};
  constexpr SheetSize legal = {inches(17, 2), inches(14)};
  const auto wide = [](SheetSize size) { return SheetSize{size.height, size.width}; };
  switch (choice) {
    case 2: return a4;
    case 3: return wide(a4);
    case 4: return letter;
    case 5: return wide(letter);
    case 8: return legal;
    case 9: return wide(legal);
    default: return std::nullopt;
  }
}

}  // namespace stationer::print
