// What the characters of a dot-matrix printer look like at the moment: how wide, how high, in what
// style. Commands set it; lengths are in u.
//
// ESC/P Reference Manual (1997) R-49 (pitches), C-134 (condensed), C-99 (ESC c), C-118 (ESC !);
// STY manual. No source tells how wide the proportional characters are and where
// superscripts stand; those here are ours.
#pragma once

#include <array>
#include <cstdint>
#include <optional>

#include "print/dot_modes.h"
#include "print/page.h"

namespace stationer::print {

enum class Script : std::uint8_t { none, super, sub };

// Lines beside, through and over characters: ESC ( -.
enum class Score : std::uint8_t { none, single, twice, broken = 5, twice_broken = 6 };

struct DotType {
  Units pitch = inches(1, 10);
  bool proportional = false;
  bool condensed = false;
  bool wide = false;            // ESC W
  bool wide_line = false;       // SO: until the line ends
  std::optional<Units> motion;  // ESC c: from one character to the next, whatever else is set
  Units space = 0;              // ESC SP: more room after each
  bool tall = false;
  unsigned half_points = usual_half_points;  // ESC X
  Script script = Script::none;
  bool near_letter_quality = false;
  bool bold = false;
  bool double_strike = false;
  bool italic = false;
  Style shape = Style::plain;  // outline, shadow, both
  bool underlined = false;
  std::array<Score, 3> scores{};  // under, through, over
  Ink ink = Ink::black;

  static constexpr unsigned usual_half_points = 21;

  // The width of a column for margins and tabs: what ESC W and condensing make of the pitch, or
  // that of 10 to the inch for proportional characters.
  Units column() const;
  // The room of a character's glyph, and how far it is to the next.
  Units width(char32_t character) const;
  Units advance(char32_t character) const;
  // How high glyphs are where lines are `line` apart.
  Units height(Units line) const;
  // How far below the line's baseline that of a character is.
  Units drop(Units line) const;
  Style style() const;

  // ESC P, M, g.
  void choose_pitch(Units wanted);
  // SI, which 15 to the inch ignores.
  void condense();
  // ESC !
  void choose(std::uint8_t bits);
  // ESC ( -: 1 under, 2 through, 3 over; a Score. False when there is no such line.
  bool choose_score(std::uint8_t where, std::uint8_t what);
  // ESC X: 360/m to the inch, half-points; 0 leaves either. False when there is no such type.
  bool choose(std::uint8_t pitch_number, unsigned size);
};

}  // namespace stationer::print
