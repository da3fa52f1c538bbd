#include "print/strikes.h"

#include <algorithm>
#include <tuple>

#include "print/overstrike.h"

namespace stationer::print {
namespace {

// How far apart strikes into one place may be.
constexpr Units near = inches(1, 60);

// The same for two neighbours that are narrow enough to be mistaken.
Units reach_of(Units pitch) {
  return std::min(near, pitch / 2);
}

bool is_blank(char32_t character) {
  return character == U' ' || character == U'\u00A0';
}

}  // namespace

void Strikes::strike(Units x, Units baseline, CellSize size, const Cell& cell) {
  if (is_blank(cell.character)) return;
  if (strikes_.size() == most) {
    ++lost_;
    return;
  }
  if (!strikes_.empty()) {
    const Strike& last = strikes_.back();
    in_order_ &= std::tie(last.baseline, last.x) <= std::tie(baseline, x);
  }
  strikes_.push_back({x, baseline, size, cell, static_cast<std::uint32_t>(strikes_.size())});
}

void Strikes::underline(Units x, Units baseline, CellSize size, Ink ink) {
  rule(underline_of(x, baseline, size.pitch, size.height, ink));
}

void Strikes::rule(const Rule& rule) {
  if (!rules_.empty()) {
    Rule& last = rules_.back();
    if (last.y == rule.y && last.height == rule.height && last.ink == rule.ink &&
        last.x + last.width == rule.x) {
      last.width += rule.width;
      return;
    }
  }
  if (rules_.size() == most) {
    ++lost_;
    return;
  }
  rules_.push_back(rule);
}

void Strikes::give_to(Page& page) {
  if (!in_order_) {
    std::sort(strikes_.begin(), strikes_.end(), [](const Strike& a, const Strike& b) {
      return std::tie(a.baseline, a.x, a.order) < std::tie(b.baseline, b.x, b.order);
    });
  }
  blanks_left_ = most;
  resolve_lines(page);
  give_rules(page);
  strikes_.clear();
  in_order_ = true;
}

// A line is what stands on baselines so near each other that its strikes may be of one place.
void Strikes::resolve_lines(Page& page) {
  for (auto begin = strikes_.begin(); begin != strikes_.end();) {
    const auto end = std::find_if(begin, strikes_.end(), [&](const Strike& strike) {
      return strike.baseline > begin->baseline + near;
    });
    resolve_line({begin, end}, page);
    begin = end;
  }
}

void Strikes::resolve_line(std::span<Strike> line, Page& page) {
  const bool one_baseline = line.front().baseline == line.back().baseline;
  if (!one_baseline) {
    std::sort(line.begin(), line.end(), [](const Strike& a, const Strike& b) {
      return std::tie(a.x, a.order) < std::tie(b.x, b.order);
    });
  }
  line_.clear();
  for (std::size_t first = 0; first < line.size();) {
    std::size_t end = first + 1;
    while (end < line.size() &&
           line[end].x - line[first].x <=
               reach_of(std::min(line[first].size.pitch, line[end].size.pitch))) {
      ++end;
    }
    if (end - first == 1) {
      const Strike& only = line[first];
      line_.push_back({only.x, only.baseline, only.size, only.cell, false,
                       only.cell.character == U'_' && !has(only.cell.style, Style::bold)});
    } else {
      resolve_place(line.subspan(first, end - first), page);
    }
    first = end;
  }
  underline_line();
  if (!one_baseline) {
    std::stable_sort(line_.begin(), line_.end(),
                     [](const Glyph& a, const Glyph& b) { return a.baseline < b.baseline; });
  }
  add_runs(page);
}

// Several strikes into one place.
void Strikes::resolve_place(std::span<Strike> strikes, Page& page) {
  std::sort(strikes.begin(), strikes.end(),
            [](const Strike& a, const Strike& b) { return a.order < b.order; });
  Place place;
  for (const Strike& strike : strikes) place.strike(strike.cell.character);
  const Place::Impression impression = place.impression();

  // Where and how a character was struck that is to be seen; of a letter made of two, its first.
  const auto struck = [&](char32_t character) {
    const auto found = std::find_if(strikes.begin(), strikes.end(), [&](const Strike& strike) {
      return strike.cell.character == character;
    });
    Strike out = found == strikes.end() ? strikes.front() : *found;
    out.cell.character = character;
    for (const Strike& strike : strikes) {
      if (strike.cell.character != character) continue;
      out.cell.style = out.cell.style | strike.cell.style;
      out.cell.ink = strike.cell.ink;
    }
    if (place.bold()) out.cell.style = out.cell.style | Style::bold;
    return out;
  };
  const Strike text = struck(impression.text);
  line_.push_back(
      {text.x, text.baseline, text.size, text.cell, place.underlined(), place.is_underscore()});
  if (impression.mark_count != 0) ++blots_;
  for (unsigned i = 0; i < impression.mark_count; ++i) {
    const Strike mark = struck(impression.marks[i]);
    page.add_mark({mark.x, mark.baseline, mark.size, mark.cell});
  }
}

// Rules below the underlined places of the line. Underscores between two of them stand below a
// blank: the words were underlined in one stroke, and the blank is a blank.
void Strikes::underline_line() {
  const auto touch = [](const Glyph& a, const Glyph& b) {
    return b.x - (a.x + a.size.pitch) <= reach_of(a.size.pitch);
  };
  for (std::size_t first = 0; first < line_.size(); ++first) {
    if (!line_[first].underlined) continue;
    std::size_t last = first;
    for (std::size_t i = first + 1; i < line_.size() && touch(line_[i - 1], line_[i]); ++i) {
      if (line_[i].underlined) {
        for (std::size_t blank = last + 1; blank < i; ++blank) {
          line_[blank].cell.character = U' ';
        }
        last = i;
      } else if (!line_[i].underscore) {
        break;
      }
    }
    const Glyph& from = line_[first];
    const Glyph& to = line_[last];
    rule(underline_of(from.x, from.baseline, to.x + to.size.pitch - from.x, from.size.height,
                      from.cell.ink));
    first = last;
  }
  std::erase_if(line_, [](const Glyph& glyph) { return is_blank(glyph.cell.character); });
}

// A run goes on as long as the cells are of one size and at whole pitches from its beginning.
void Strikes::add_runs(Page& page) {
  Units free = left_;  // where the blank part of the line begins
  for (auto glyph = line_.begin(); glyph != line_.end();) {
    const auto [x, baseline, size] = std::tie(glyph->x, glyph->baseline, glyph->size);
    const auto blanks_to = [this](Units gap, Units pitch) {
      const std::size_t blanks = gap < pitch ? 0 : static_cast<std::size_t>(gap / pitch);
      if (blanks > blanks_left_) return std::size_t{0};
      blanks_left_ -= blanks;
      return blanks;
    };
    run_.assign(blanks_to(x - free, size.pitch), Cell());
    const Units start = x - static_cast<Units>(run_.size()) * size.pitch;
    do {
      run_.push_back(glyph->cell);
      free = glyph->x + size.pitch;
      if (++glyph == line_.end() || glyph->size != size || glyph->baseline != baseline) break;
      const Units gap = glyph->x - free;
      if (gap < 0 || gap % size.pitch != 0) break;
      const std::size_t blanks = blanks_to(gap, size.pitch);
      if (blanks == 0 && gap > 0) break;
      run_.insert(run_.end(), blanks, Cell());
    } while (true);
    if (glyph != line_.end() && glyph->baseline == baseline) {
      // A blank too narrow to be one of the next run's is one of this.
      const Units gap = glyph->x - free;
      if (gap >= size.pitch / 3 && gap < glyph->size.pitch) run_.emplace_back();
    } else {
      free = left_;
    }
    page.add_run(start, baseline, size, run_);
  }
}

void Strikes::give_rules(Page& page) {
  const auto line_of = [](const Rule& rule) { return std::tie(rule.y, rule.height, rule.ink); };
  std::sort(rules_.begin(), rules_.end(), [&](const Rule& a, const Rule& b) {
    return line_of(a) != line_of(b) ? line_of(a) < line_of(b) : a.x < b.x;
  });
  for (std::size_t first = 0; first < rules_.size();) {
    Rule joined = rules_[first];
    for (++first; first < rules_.size(); ++first) {
      const Rule& next = rules_[first];
      if (line_of(next) != line_of(joined) || next.x > joined.x + joined.width) break;
      joined.width = std::max(joined.width, next.x + next.width - joined.x);
    }
    page.add_rule(joined);
  }
  rules_.clear();
}

}  // namespace stationer::print
