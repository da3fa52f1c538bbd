#include "print/dot_settings.h"

#include <algorithm>
#include <optional>

#include "print/dot_arguments.h"

namespace stationer::print {
namespace {

constexpr Units tab_columns = 8;

bool switch_to(bool& what, std::uint8_t byte) {
  const std::optional<unsigned> on = digit(byte, 1);
  if (on) what = *on == 1;
  return on.has_value();
}

LoadedForm loaded(const Form& form, const Layout& layout) {
  const Units line = layout.cell.height;
  return {units(form.paper.height), layout.top, (layout.lines + form.skip) * line, form.skip * line,
          line};
}

// The pitch of a queue's form as the printer would have been switched to it.
void choose_pitch(DotType& type, Units pitch) {
  const Units condensed[][2] = {{inches(7, 120), inches(1, 10)}, {inches(1, 20), inches(1, 12)}};
  type.pitch = pitch;
  for (const auto& [narrow, usual] : condensed) {
    if (pitch != narrow) continue;
    type.pitch = usual;
    type.condensed = true;
  }
}

}  // namespace

DotSettings::DotSettings(Pins pins, const DotRules& rules, const Form& paper, const Layout& layout)
    : sets(rules.table, rules.national),
      form(loaded(paper, layout)),
      pins_(pins),
      rules_(rules),
      pitch_(layout.cell.pitch),
      width_(layout.columns * layout.cell.pitch) {
  reset();
}

void DotSettings::reset() {
  type = DotType();
  type.near_letter_quality = rules_.near_letter_quality;
  choose_pitch(type, pitch_);
  sets = DotSets(rules_.table, rules_.national);
  form.reset();
  justify = Justify::left;
  left = 0;
  right = width_;
  unused_print = false;
  use_downloads = false;
  upper_ = Upper::as_table;
  unit_ = 0;
  clear_tabs();
}

// Every eighth column, as when switched on.
void DotSettings::clear_tabs() {
  tabs_.clear();
  own_tabs_ = false;
  tab_step_ = 0;
}

bool DotSettings::upper_controls() const {
  return upper_ == Upper::as_table ? sets.is_italic() : upper_ == Upper::controls;
}

Units DotSettings::next_tab(Units from) const {
  if (own_tabs_ && tab_step_ == 0) {
    const auto tab =
        std::find_if(tabs_.begin(), tabs_.end(), [=](Units each) { return each > from; });
    return tab == tabs_.end() ? 0 : *tab;
  }
  const Units step = tab_step_ > 0 ? tab_step_ : tab_columns * type.column();
  return (from / step + 1) * step;
}

// 1/120 inch, or 1/180 when 24 pins write their best.
Units DotSettings::small_unit() const {
  const bool best = pins_ == Pins::twenty_four && (type.near_letter_quality || type.proportional);
  return best ? inches(1, 180) : inches(1, 120);
}

bool DotSettings::set(const DotCommand& command) {
  switch (command.code) {
    case esc('a'): {
      const std::optional<unsigned> how = digit(command.arguments[0], 3);
      if (how) justify = static_cast<Justify>(*how);
      return how.has_value();
    }
    case esc('#'):
    case esc('<'):
    case esc('='):
    case esc('>'):
    case esc('8'):
    case esc('9'):
    case esc('U'):
    case esc('i'):
    case esc('k'):
    case esc('m'):
    case esc('s'):
    case esc_parenthesis('G'): return true;
    case esc('?'):
      return std::string_view("KLYZ").find(static_cast<char>(command.arguments[0])) !=
             std::string_view::npos;
    default:
      return set_type(command) || set_paper(command) || set_across(command) || set_sets(command);
  }
}

bool DotSettings::set_type(const DotCommand& command) {
  const DotArguments at = command.arguments;
  switch (command.code) {
    case esc('P'): type.choose_pitch(inches(1, 10)); return true;
    case esc('M'): type.choose_pitch(inches(1, 12)); return true;
    case esc('g'): type.choose_pitch(inches(1, 15)); return true;
    case esc('p'): type.motion.reset(); return switch_to(type.proportional, at[0]);
    case esc('c'): {
      const Units motion = word(at) * unit_or(inches(1, 360));
      if (motion <= 0 || motion > inches(3)) return false;
      type.motion = motion;
      return true;
    }
    case esc('X'): return type.choose(at[0], static_cast<unsigned>(word(at.subspan(1))));
    case esc(' '):
      if (at[0] > 127) return false;
      type.motion.reset();
      type.space = at[0] * small_unit();
      return true;
    case esc('!'): type.choose(at[0]); return true;
    case esc('W'): type.motion.reset(); return switch_to(type.wide, at[0]);
    case esc('w'): return switch_to(type.tall, at[0]);
    case esc('E'): type.bold = true; return true;
    case esc('F'): type.bold = false; return true;
    case esc('G'): type.double_strike = true; return true;
    case esc('H'): type.double_strike = false; return true;
    case esc('4'): type.italic = true; return true;
    case esc('5'): type.italic = false; return true;
    case esc('-'): return switch_to(type.underlined, at[0]);
    case esc('S'): {
      const std::optional<unsigned> where = digit(at[0], 1);
      if (where) type.script = *where == 0 ? Script::super : Script::sub;
      return where.has_value();
    }
    case esc('T'): type.script = Script::none; return true;
    case esc('x'): return switch_to(type.near_letter_quality, at[0]);
    case esc('q'): {
      constexpr Style shapes[] = {Style::plain, Style::outline, Style::shadow,
                                  Style::outline | Style::shadow};
      if (at[0] >= std::size(shapes)) return false;
      type.shape = shapes[at[0]];
      return true;
    }
    case esc('r'):
      if (at[0] > static_cast<std::uint8_t>(Ink::green)) return false;
      type.ink = static_cast<Ink>(at[0]);
      return true;
    case esc_parenthesis('-'): return at.size() == 3 && type.choose_score(at[1], at[2]);
    default: return false;
  }
}

bool DotSettings::set_paper(const DotCommand& command) {
  const DotArguments at = command.arguments;
  const Units unit = unit_or(inches(1, 360));
  switch (command.code) {
    case esc('0'): form.set_line(inches(1, 8)); return true;
    case esc('1'): form.set_line(inches(7, 72)); return true;
    case esc('2'): form.set_line(inches(1, 6)); return true;
    case esc('3'):
      form.set_line(at[0] * (pins_ == Pins::nine ? inches(1, 216) : inches(1, 180)));
      return true;
    case esc('A'):
      if (at[0] > (pins_ == Pins::nine ? 85 : 127)) return false;
      form.set_line(at[0] * (pins_ == Pins::nine ? inches(1, 72) : inches(1, 60)));
      return true;
    case esc('+'): form.set_line(at[0] * inches(1, 360)); return true;
    case esc('C'):
      if (at[0] == 0) return form.set_length(at[1] * inches(1));
      return at[0] <= 127 && form.set_length(at[0] * form.line());
    case esc('N'): return at[0] >= 1 && at[0] <= 127 && form.set_skip(at[0] * form.line());
    case esc('O'): form.clear_skip(); return true;
    case esc('B'):
    case esc('b'): {
      const bool channelled = command.code == esc('b');
      const unsigned channel = channelled ? at[0] : 0;
      if (channel >= DotForm::channels) return false;
      std::vector<Units> tabs;
      for (const std::uint8_t tab : at.subspan(channelled ? 1 : 0)) {
        tabs.push_back(tab * form.line());
      }
      form.set_tabs(channel, tabs);
      return true;
    }
    case esc('/'):
      if (at[0] >= DotForm::channels) return false;
      form.choose_channel(at[0]);
      return true;
    case esc_parenthesis('C'): return at.size() == 2 && form.set_length(word(at) * unit);
    case esc_parenthesis('c'):
      return at.size() == 4 && form.set_margins(word(at) * unit, word(at.subspan(2)) * unit);
    default: return false;
  }
}

bool DotSettings::set_across(const DotCommand& command) {
  const DotArguments at = command.arguments;
  switch (command.code) {
    case esc('l'): {
      const Units wanted = at[0] * type.column();
      if (wanted >= right) return false;
      left = wanted;
      clear_tabs();
      return true;
    }
    case esc('Q'): {
      const Units wanted = at[0] * type.column();
      if (wanted <= left || wanted > width_) return false;
      right = wanted;
      clear_tabs();
      return true;
    }
    case esc('D'):
      clear_tabs();
      for (const std::uint8_t tab : at) tabs_.push_back(tab * type.column());
      own_tabs_ = true;
      return true;
    case esc('e'): {
      const std::optional<unsigned> down = digit(at[0], 1);
      if (!down) return false;
      if (*down == 1) {
        form.set_tab_step(at[1] * form.line());
      } else {
        tab_step_ = at[1] * type.column();
      }
      return true;
    }
    case esc_parenthesis('U'): {
      constexpr std::string_view numerators("\x05\x0A\x14\x1E\x28\x32\x3C");
      if (at.size() != 1 || numerators.find(static_cast<char>(at[0])) == std::string_view::npos) {
        return false;
      }
      unit_ = at[0] * 3 / 5;  // n/3600 inch
      return true;
    }
    default: return false;
  }
}

bool DotSettings::set_sets(const DotCommand& command) {
  const DotArguments at = command.arguments;
  switch (command.code) {
    case esc('R'): return sets.choose_national(at[0]);
    case esc('t'): {
      const std::optional<unsigned> slot = digit(at[0], 3);
      return slot && sets.select(static_cast<std::uint8_t>(*slot));
    }
    case esc_parenthesis('t'): {
      if (at.size() != 3) return false;
      const std::optional<unsigned> slot = digit(at[0], 3);
      return slot && sets.assign(static_cast<std::uint8_t>(*slot), at[1], at[2]);
    }
    case esc('6'): upper_ = Upper::characters; return true;
    case esc('7'): upper_ = Upper::controls; return true;
    case esc('I'): return switch_to(unused_print, at[0]);
    case esc('%'): {
      const std::optional<unsigned> what = digit(at[0], 9);
      if (what && *what <= 1) use_downloads = *what == 1;
      return what.has_value();
    }
    default: return false;
  }
}

}  // namespace stationer::print
