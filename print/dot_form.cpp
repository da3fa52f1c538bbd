#include "print/dot_form.h"

#include <algorithm>

namespace stationer::print {

DotForm::DotForm(const LoadedForm& loaded) : loaded_(loaded) {
  reset();
}

void DotForm::reset() {
  start_ = y_;
  length_ = loaded_.length;
  margin_ = 0;
  skip_ = loaded_.skip;
  line_ = loaded_.line;
  tabs_ = {};
  channel_ = 0;
  tab_step_ = 0;
  fit();
}

// The form moves up on the sheet as far as it must to be whole on it; not while it's being printed.
void DotForm::fit() {
  if (y_ == 0) top_ = std::clamp(loaded_.sheet - length_, 0, loaded_.top);
}

Units DotForm::bottom() const {
  const Units sheet_end = loaded_.sheet - top_;
  const Units end = start_ + length_;
  return (start_ > 0 && length_ <= sheet_end ? std::min(end, sheet_end) : end) - skip_;
}

bool DotForm::set_length(Units length) {
  if (length <= 0 || length > longest) return false;
  length_ = length;
  start_ = y_;
  margin_ = 0;
  skip_ = 0;
  fit();
  return true;
}

bool DotForm::set_skip(Units skip) {
  if (skip < 0 || margin_ + skip >= length_) return false;
  skip_ = skip;
  return true;
}

bool DotForm::set_margins(Units top, Units bottom) {
  if (top < 0 || top >= bottom || bottom > length_) return false;
  if (y_ == start_ + margin_) y_ = start_ + top;
  margin_ = top;
  skip_ = length_ - bottom;
  return true;
}

unsigned DotForm::move(Units distance) {
  y_ = std::max(y_ + distance, 0);
  unsigned ended = 0;
  for (;;) {
    const Units sheet_end = loaded_.sheet - top_;
    if (y_ >= bottom()) {
      const Units beyond = y_ - bottom();
      const bool on_top = skip_ != 0 || margin_ != 0;
      begin_form();
      if (!on_top) y_ = beyond;
      ++ended;
    } else if (y_ >= sheet_end) {
      y_ -= sheet_end;
      start_ -= sheet_end;
      ++ended;
    } else {
      return ended;
    }
  }
}

void DotForm::begin_form() {
  start_ = 0;
  y_ = 0;
  fit();
  y_ = margin_;
}

void DotForm::set_tabs(unsigned channel, std::span<const Units> tabs) {
  Channel& own = tabs_[channel];
  own.count = std::min(tabs.size(), most_tabs);
  std::copy_n(tabs.begin(), own.count, own.tabs.begin());
  own.set = true;
  tab_step_ = 0;
}

void DotForm::set_tab_step(Units step) {
  tab_step_ = step;
}

DotForm::Tabs DotForm::tabs() const {
  if (tab_step_ > 0 || tabs_[channel_].count > 0) return Tabs::some;
  const bool ever =
      std::any_of(tabs_.begin(), tabs_.end(), [](const Channel& each) { return each.set; });
  return ever ? Tabs::none : Tabs::never_set;
}

std::optional<Units> DotForm::next_tab() const {
  const Units from_top = y_ - start_;
  Units next = 0;
  if (tab_step_ > 0) {
    next = (from_top / tab_step_ + 1) * tab_step_;
  } else {
    const auto tabs = std::span(tabs_[channel_].tabs).first(tabs_[channel_].count);
    const auto below =
        std::find_if(tabs.begin(), tabs.end(), [=](Units tab) { return tab > from_top; });
    if (below == tabs.end()) return std::nullopt;
    next = *below;
  }
  if (start_ + next >= bottom()) return std::nullopt;
  return start_ + next;
}

}  // namespace stationer::print
