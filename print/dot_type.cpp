#include "print/dot_type.h"

#include <algorithm>
#include <string_view>

namespace stationer::print {
namespace {

constexpr Units ten = inches(1, 10);
constexpr Units twelve = inches(1, 12);

Units condensed_width(Units width, bool proportional) {
  if (proportional) return width / 2;
  if (width == ten) return inches(7, 120);
  return width == twelve ? inches(1, 20) : width;
}

// No source; all even, to be halved.
Units proportional_width(char32_t character) {
  const auto is_of = [character](std::u32string_view all) {
    return all.find(character) != std::u32string_view::npos;
  };
  if (is_of(U"!'.,:;|Iijl")) return inches(7, 120);
  if (is_of(U" ()[]{}`-\"^frst")) return inches(9, 120);
  if (is_of(U"MWmw@%&")) return inches(14, 120);
  if (character >= U'a' && character <= U'z') return inches(11, 120);
  if (character >= U'A' && character <= U'Z') return inches(13, 120);
  return ten;
}

}  // namespace

Units DotType::column() const {
  if (motion) return *motion;
  const Units one = condensed && !proportional ? condensed_width(pitch, false) : pitch;
  return (proportional ? ten : one) * (wide ? 2 : 1);
}

Units DotType::width(char32_t character) const {
  const Units one = proportional ? proportional_width(character) : pitch;
  return (condensed ? condensed_width(one, proportional) : one) * (wide || wide_line ? 2 : 1);
}

Units DotType::advance(char32_t character) const {
  return motion ? *motion : width(character) + (wide || wide_line ? 2 * space : space);
}

// The letters keep their shape where lines are at their usual distance; where those are closer,
// letters are lower as far as they would be on paper.
Units DotType::height(Units line) const {
  const Units usual = std::clamp(line, inches(1, 8), inches(1, 6));
  const Units sized =
      usual * static_cast<Units>(half_points) / static_cast<Units>(usual_half_points);
  const Units scripted = script == Script::none ? sized : sized * 2 / 3;
  return tall ? 2 * scripted : scripted;
}

Units DotType::drop(Units line) const {
  if (script == Script::none) return 0;
  const Units usual = std::clamp(line, inches(1, 8), inches(1, 6));
  return script == Script::super ? -(usual * 2 / 9) : usual / 6;
}

Style DotType::style() const {
  const Style weight = bold || double_strike ? Style::bold : Style::plain;
  return weight | shape | (italic ? Style::italic : Style::plain);
}

void DotType::choose_pitch(Units wanted) {
  motion.reset();
  pitch = wanted;
  half_points = usual_half_points;
}

void DotType::condense() {
  if (pitch == inches(1, 15) && !proportional) return;
  motion.reset();
  condensed = true;
}

bool DotType::choose_score(std::uint8_t where, std::uint8_t what) {
  const bool is_line = what <= 2 || what == 5 || what == 6;
  if (!is_line || where < 1 || where > scores.size()) return false;
  scores[where - 1u] = static_cast<Score>(what);
  return true;
}

void DotType::choose(std::uint8_t bits) {
  const auto bit = [bits](unsigned mask) { return (bits & mask) != 0; };
  motion.reset();
  pitch = bit(0x01) ? twelve : ten;
  half_points = usual_half_points;
  proportional = bit(0x02);
  condensed = bit(0x04);
  bold = bit(0x08);
  double_strike = bit(0x10);
  wide = bit(0x20);
  wide_line = false;
  italic = bit(0x40);
  underlined = bit(0x80);
}

bool DotType::choose(std::uint8_t pitch_number, unsigned size) {
  constexpr unsigned largest = 2 * 72;
  if (size > largest || (pitch_number > 1 && pitch_number < 5)) return false;
  motion.reset();
  if (pitch_number != 0) proportional = pitch_number == 1;
  if (pitch_number > 1) pitch = pitch_number * inches(1, 360);
  if (size != 0) half_points = size;
  return true;
}

}  // namespace stationer::print
