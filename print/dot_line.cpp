#include "print/dot_line.h"

#include <algorithm>

namespace stationer::print {
namespace {

bool is_blank(const LineItem& item) {
  return item.cell.character == U' ';
}

// One of the lines that ESC ( - draws, as high as a line's own thickness.
void score(const LineItem& item, Score score, Units y, Units thickness, Strikes& strikes,
           Units left) {
  if (score == Score::none) return;
  const bool broken = score == Score::broken || score == Score::twice_broken;
  const bool twice = score == Score::twice || score == Score::twice_broken;
  const Units length = broken ? item.advance / 2 : item.advance;
  strikes.rule({left + item.x, y, length, thickness, item.cell.ink});
  if (twice) strikes.rule({left + item.x, y + 2 * thickness, length, thickness, item.cell.ink});
}

}  // namespace

std::optional<LineItem> DotLine::take_last() {
  if (items_.empty()) return std::nullopt;
  const LineItem last = items_.back();
  items_.pop_back();
  return last;
}

void DotLine::shift(Units by) {
  for (LineItem& item : items_) item.x += by;
}

std::vector<LineItem> DotLine::break_line(Units left, Units right) {
  const auto blank = std::find_if(items_.rbegin(), items_.rend(), is_blank);
  if (blank == items_.rend()) return {};
  const auto cut = blank.base();  // behind the blank
  std::vector<LineItem> rest(cut, items_.end());
  items_.erase(cut, items_.end());
  while (!items_.empty() && is_blank(items_.back())) items_.pop_back();

  const auto first = std::find_if_not(items_.begin(), items_.end(), is_blank);
  const auto blanks = static_cast<Units>(std::count_if(first, items_.end(), is_blank));
  const Units free = right - end();
  Units seen = 0;
  for (auto item = first; item != items_.end(); ++item) {
    const Units before = blanks == 0 ? 0 : free * seen / blanks;
    item->x += before;
    if (is_blank(*item)) item->advance += free * ++seen / blanks - before;
  }
  items_.swap(rest);
  if (!items_.empty()) shift(left - begin());
  return rest;
}

void print_items(std::span<const LineItem> items, Strikes& strikes, Units left, Units baseline) {
  for (const LineItem& item : items) {
    const Units own = baseline + item.drop;
    strikes.strike(left + item.x, own, item.size, item.cell);
    const Units height = item.size.height;
    const Rule under = underline_of(left + item.x, own, item.advance, height, item.cell.ink);
    if (item.underlined) strikes.rule(under);
    score(item, item.scores[0], under.y, under.height, strikes, left);
    score(item, item.scores[1], own - height / 4, under.height, strikes, left);
    score(item, item.scores[2], own - height * 2 / 3, under.height, strikes, left);
  }
}

}  // namespace stationer::print
