#include "print/quad.h"

#include <algorithm>

namespace stationer::print {
namespace {

void score(const QuadText::Letter& letter, Strikes& strikes) {
  const auto& [x, baseline, size, cell, scores] = letter;
  const Rule under = underline_of(x, baseline, size.pitch, size.height, cell.ink);
  const auto rule_at = [&](Units y) {
    strikes.rule({under.x, y, under.width, under.height, under.ink});
  };
  if (scores.under || scores.under_twice) rule_at(under.y);
  if (scores.under_twice) rule_at(under.y + 2 * under.height);
  if (scores.through) rule_at(baseline - size.height / 4);
  if (scores.over) rule_at(baseline - size.height * 3 / 4);
}

}  // namespace

void QuadText::add(const Letter& letter, Strikes& strikes) {
  if (letters_.size() == most) settle(strikes);
  letters_.push_back(letter);
}

void QuadText::settle(Strikes& strikes) {
  for (const Letter& letter : letters_) {
    strikes.strike(letter.x, letter.baseline, letter.size, letter.cell);
    score(letter, strikes);
  }
  letters_.clear();
}

Units QuadText::move(To to, bool leader, Units home, Units limit) {
  const auto end_of = [](const Letter& letter) { return letter.x + letter.size.pitch; };
  const auto by_x = [](const Letter& a, const Letter& b) { return a.x < b.x; };
  const auto by_end = [&](const Letter& a, const Letter& b) { return end_of(a) < end_of(b); };
  if (letters_.empty()) return home;
  const Units begin = std::min_element(letters_.begin(), letters_.end(), by_x)->x;
  const Units end = end_of(*std::max_element(letters_.begin(), letters_.end(), by_end));
  const Units free = limit - home - (end - begin);
  if (free < 0) return end;
  const Units pitch = letters_.front().size.pitch;
  const Units place = to == To::middle ? free / 2 / pitch * pitch : to == To::right ? free : 0;
  for (Letter& letter : letters_) letter.x += home + place - begin;
  const Units moved_end = end + home + place - begin;
  if (to == To::both) {
    if (!std::is_sorted(letters_.begin(), letters_.end(), by_x)) return moved_end;
    spread(free);
    return limit;
  }
  if (leader) {
    fill(home, home + place);
    fill(moved_end, limit);
  }
  return moved_end;
}

// Widens the blanks between the words by `room` in all, alike but for a unit.
void QuadText::spread(Units room) {
  const auto is_blank = [](const Letter& letter) { return letter.cell.character == U' '; };
  const auto blanks = static_cast<Units>(std::count_if(letters_.begin(), letters_.end(), is_blank));
  Units before = 0;
  for (Letter& letter : letters_) {
    if (blanks != 0) letter.x += room * before / blanks;
    if (is_blank(letter)) ++before;
  }
}

// Dots at the whole pitches from the sheet's edge on, so that those of several lines stand below
// each other.
void QuadText::fill(Units from, Units to) {
  Letter dot = letters_.front();
  dot.cell.character = U'.';
  dot.scores = {};
  const Units pitch = dot.size.pitch;
  for (Units x = (from + pitch - 1) / pitch * pitch; x + pitch <= to; x += pitch) {
    dot.x = x;
    letters_.push_back(dot);
  }
}

}  // namespace stationer::print
