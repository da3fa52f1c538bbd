#include "print/dot_matrix.h"

#include <algorithm>
#include <optional>

#include "print/dot_arguments.h"

namespace stationer::print {
namespace {

using What = DotCodes::What;

}  // namespace

DotMatrix::DotMatrix(Pins pins, const DotRules& rules, const Form& form, const Layout& layout,
                     PageSink sink)
    : pins_(pins),
      rules_(rules),
      left_(layout.left),
      gate_(rules.most_pages, std::move(sink)),
      codes_(pins),
      now_(pins, rules, form, layout),
      downloads_(pins),
      strikes_(layout.left),
      raster_(pins == Pins::nine ? needle_of_nine : needle_of_24) {
  reset();
}

void DotMatrix::reset() {
  codes_.reset();
  codes_.set_near_letter_quality(rules_.near_letter_quality);
  if (rules_.seven_bits) codes_.set_seven_bits();
  now_.reset();
  tell_codes();
  x_ = 0;
}

// What are control codes depends on what is set.
void DotMatrix::tell_codes() {
  codes_.set_controls(now_.upper_controls(), now_.unused_print);
}

fs::Status DotMatrix::feed(std::string_view bytes) {
  for (const char byte : bytes) {
    do {
      const What what = codes_.put(static_cast<std::uint8_t>(byte));
      if (what == What::nothing) continue;
      if (fs::Status status = put(what); !status) return status;
    } while (!codes_.taken());
  }
  return {};
}

fs::Status DotMatrix::put(What what) {
  switch (what) {
    case What::nothing: break;
    case What::character: after_image_ = false; return print(codes_.byte());
    case What::command: return command(codes_.command());
    case What::data: data(codes_.byte(), codes_.repeat()); break;
    case What::unknown: report_.count_unknown(codes_.code()); break;
  }
  return {};
}

fs::Status DotMatrix::finish() {
  end_line();
  finish_page();
  return gate_.close(page_);
}

JobReport DotMatrix::report() const {
  JobReport report = report_;
  report.pages = gate_.pages();
  report.blots = strikes_.blots();
  report.crowded_out = strikes_.lost() + raster_.dropped();
  return report;
}

// Characters.

fs::Status DotMatrix::print(std::uint8_t code) {
  const DotSets::Character& shown = now_.sets.of(code);
  const char32_t character = shown.character == U'\u00A0' ? U' ' : shown.character;
  const std::optional<std::uint8_t> download = download_of(code);
  const auto room = [&] {
    return download && now_.type.proportional && !now_.type.motion ? downloads_.width(*download)
                                                                   : now_.type.advance(character);
  };
  if (line_.full()) end_line();
  if (x_ + room() > now_.right && x_ > now_.left) {
    if (fs::Status status = wrap(); !status) return status;
  }
  const Units advance = room();
  Style style = now_.type.style();
  if (shown.slanted) style = style | Style::italic;
  if (download) style = Style::unseen;
  line_.add({x_,
             advance,
             now_.type.drop(now_.form.line()),
             {now_.type.width(character), now_.type.height(now_.form.line())},
             {character, style, now_.type.ink},
             now_.type.underlined,
             now_.type.scores,
             download});
  x_ += advance;
  if (character == U' ') return {};
  ++report_.characters;
  if (character == U'\uFFFD') ++report_.unreadable;
  gate_.leave_top();
  return {};
}

fs::Status DotMatrix::wrap() {
  std::vector<LineItem> whole;
  if (now_.justify == Justify::full) whole = line_.break_line(now_.left, now_.right);
  if (whole.empty()) {
    end_line();
    x_ = now_.left;
  } else {
    flush(whole);
    x_ = line_.empty() ? now_.left : line_.end();
  }
  now_.type.wide_line = false;
  return feed_paper(now_.form.line());
}

// What is in the line goes onto the paper, moved between the margins as ESC a says.
void DotMatrix::end_line() {
  if (line_.empty()) return;
  const Units free = now_.right - line_.end() - (line_.begin() - now_.left);
  if (free > 0 && now_.justify == Justify::centre) line_.shift(free / 2);
  if (free > 0 && now_.justify == Justify::right) line_.shift(free);
  flush(line_.items());
  line_.clear();
}

void DotMatrix::flush(std::span<const LineItem> items) {
  print_items(items, strikes_, left_, needles() + first_baseline(pins_));
  for (const LineItem& item : items) {
    if (!item.download) continue;
    const Units cell = now_.type.proportional ? inches(1, 10) : item.size.pitch;
    downloads_.strike(*item.download, raster_, left_ + item.x, needles() + item.drop, cell,
                      item.cell.ink);
  }
}

// Where the needles' top is on the sheet.
Units DotMatrix::needles() const {
  return now_.form.top() + rules_.lowered + now_.form.y();
}

// The paper.

fs::Status DotMatrix::feed_paper(Units distance) {
  gate_.leave_top();
  for (unsigned ended = now_.form.move(distance); ended > 0; --ended) {
    finish_page();
    if (fs::Status status = begin_page(gate_.fill(page_)); !status) return status;
  }
  return {};
}

// To the left margin, which is also where SO ends.
void DotMatrix::return_head() {
  end_line();
  x_ = now_.left;
  now_.type.wide_line = false;
}

fs::Status DotMatrix::feed_line() {
  return_head();
  return feed_paper(now_.form.line());
}

fs::Status DotMatrix::feed_form() {
  return_head();
  finish_page();
  now_.form.begin_form();
  return begin_page(gate_.eject(page_));
}

void DotMatrix::finish_page() {
  strikes_.give_to(page_);
  raster_.give_to(page_);
}

fs::Status DotMatrix::begin_page(fs::Status status) {
  page_.clear();
  return status;
}

// Across.

bool DotMatrix::move_to(Units x) {
  if (x < now_.left || x > now_.right) return false;
  x_ = x;
  return true;
}

void DotMatrix::tab() {
  const Units next = now_.next_tab(x_ - now_.left);
  if (next > 0) move_to(now_.left + next);
}

// Straight after an image to where that began.
void DotMatrix::backspace() {
  if (now_.justify == Justify::centre || now_.justify == Justify::right) return;
  end_line();
  x_ = after_image_ ? image_x_ : std::max(now_.left, x_ - now_.type.advance(U' '));
  after_image_ = false;
}

// Characters only, never an image.
void DotMatrix::delete_last() {
  if (after_image_) return;
  if (const std::optional<LineItem> last = line_.take_last()) x_ = last->x;
}

fs::Status DotMatrix::vertical_tab() {
  switch (now_.form.tabs()) {
    case DotForm::Tabs::never_set: return feed_line();
    case DotForm::Tabs::none: return_head(); return {};
    case DotForm::Tabs::some: break;
  }
  const std::optional<Units> tab = now_.form.next_tab();
  if (!tab) return feed_form();
  return_head();
  return feed_paper(*tab - now_.form.y());
}

// Commands.

fs::Status DotMatrix::command(const DotCommand& command) {
  if (command.code < 0x100) return control(command.code);
  after_image_ = false;
  switch (command.code) {
    case esc('\x0E'):
    case esc('\x0F'): return control(command.code & 0xFF);
    case esc('&'):
    case esc('*'):
    case esc('^'):
    case esc('.'): begin_data(command); return {};
    case esc('J'):
    case esc('j'):
    case esc('f'):
    case esc_parenthesis('V'):
    case esc_parenthesis('v'): return move_down(command);
    case esc('\x19'):
      if (digit(command.arguments[0], 9) || command.arguments[0] == 'B' ||
          command.arguments[0] == 'F') {
        return {};
      }
      if (command.arguments[0] == 'R') {
        line_.clear();
        return feed_form();
      }
      break;
    default:
      if (set(command)) return {};
      break;
  }
  report_.count_unknown(codes_.code());
  return {};
}

fs::Status DotMatrix::control(unsigned code) {
  if (code == 0x08) {
    backspace();
    return {};
  }
  if (code == 0x7F) {
    delete_last();
    return {};
  }
  after_image_ = false;
  switch (code) {
    case 0x09: tab(); break;
    case 0x0A: return feed_line();
    case 0x0B: return vertical_tab();
    case 0x0C: return feed_form();
    case 0x0D:
      if (rules_.return_feeds) return feed_line();
      return_head();
      break;
    case 0x0E:
      now_.type.motion.reset();
      now_.type.wide_line = true;
      break;
    case 0x0F: now_.type.condense(); break;
    case 0x12:
      now_.type.motion.reset();
      now_.type.condensed = false;
      break;
    case 0x14:
      now_.type.motion.reset();
      now_.type.wide_line = false;
      break;
    case 0x18:
      if (!line_.empty()) x_ = line_.begin();
      line_.clear();
      break;
    default: break;
  }
  return {};
}

// Commands that move the paper. Those that move it by themselves leave the column as it is.
fs::Status DotMatrix::move_down(const DotCommand& command) {
  const DotArguments at = command.arguments;
  const Units step = pins_ == Pins::nine ? inches(1, 216) : inches(1, 180);
  const Units unit = now_.unit_or(inches(1, 360));
  switch (command.code) {
    case esc('J'): end_line(); return feed_paper(at[0] * step);
    case esc('j'): end_line(); return feed_paper(-at[0] * step);
    case esc('f'):
      if (digit(at[0], 1) == 0u) {
        move_to(x_ + at[1] * now_.type.advance(U' '));
        return {};
      }
      if (digit(at[0], 1) == 1u) {
        end_line();
        x_ = now_.left;
        return feed_paper(at[1] * now_.form.line());
      }
      break;
    case esc_parenthesis('V'):
      if (at.size() != 2) break;
      end_line();
      return feed_paper(now_.form.place(word(at) * unit) - now_.form.y());
    case esc_parenthesis('v'):
      if (at.size() != 2) break;
      end_line();
      return feed_paper(signed_word(at) * unit);
    default: break;
  }
  report_.count_unknown(codes_.code());
  return {};
}

// Data.

void DotMatrix::begin_data(const DotCommand& command) {
  const DotArguments at = command.arguments;
  downloading_ = command.code == esc('&');
  if (downloading_) {
    end_line();  // its characters are shown as they were
    downloads_.begin(at, command.data, now_.type);
    return;
  }
  image_x_ = x_;
  const auto columns = static_cast<std::uint32_t>(word(at.last(2)));
  // Those whose middle is left of the margin can be struck.
  const auto fit = [this](Units across) {
    return static_cast<std::uint32_t>(std::max(0, (now_.right - x_ + across - 1) / across));
  };
  if (command.code == esc('.')) {
    constexpr Units finest = 3600;
    const Units across = std::max(1, at[2] * units_per_inch / finest);
    const Units down = std::max(1, at[1] * units_per_inch / finest);
    image_.begin_rows(across, down, columns, at[3], fit(across));
    image_across_ = across;
  } else {
    const DotMode mode =
        (command.code == esc('^') ? find_nine_dot_mode(at[0]) : find_dot_mode(pins_, at[0]))
            .value();
    image_.begin_columns(mode, columns, fit(mode.across));
    image_across_ = mode.across;
    drop_neighbours_ = rules_.drop_neighbours && !mode.neighbours;
  }
  image_across_ *= static_cast<Units>(columns);
  after_image_ = true;
  if (image_.whole()) strike_image();
}

void DotMatrix::data(std::uint8_t byte, unsigned times) {
  if (downloading_) {
    downloads_.put(byte);
    return;
  }
  image_.put(byte, times);
  if (image_.whole()) strike_image();
}

void DotMatrix::strike_image() {
  if (drop_neighbours_) image_.drop_neighbours();
  image_.strike(raster_, left_ + x_, needles(), now_.type.ink);
  x_ = std::min(now_.right, x_ + image_across_);
  gate_.leave_top();
}

// Commands that print nothing and don't move the paper. False for what there is none of.
bool DotMatrix::set(const DotCommand& command) {
  const DotArguments at = command.arguments;
  switch (command.code) {
    case esc('@'):
      end_line();
      reset();
      return true;
    case esc(':'):
      end_line();
      downloads_.clear();
      return true;
    case esc('$'): move_to(now_.left + word(at) * now_.unit_or(inches(1, 60))); return true;
    case esc('\\'): move_along(signed_word(at) * now_.unit_or(now_.small_unit())); return true;
    case esc('l'):
    case esc('Q'):
      if (!now_.set(command)) return false;
      line_.clear();
      x_ = now_.left;
      return true;
    default:
      if (!now_.set(command)) return false;
      tell_codes();
      return true;
  }
}

// What is left free rightward is underlined as blanks are (ESC/P Reference Manual R-59).
void DotMatrix::move_along(Units distance) {
  LineItem gap;
  gap.x = x_;
  gap.advance = distance;
  if (!move_to(x_ + distance) || distance <= 0 || !now_.type.underlined) return;
  gap.size = {distance, now_.type.height(now_.form.line())};
  gap.cell.ink = now_.type.ink;
  gap.underlined = true;
  line_.add(gap);
}

std::optional<std::uint8_t> DotMatrix::download_of(std::uint8_t code) const {
  std::uint8_t wanted = code;
  if (now_.sets.is_user_defined() && code >= 0x80) {
    wanted = code & 0x7F;
  } else if (!now_.use_downloads) {
    return std::nullopt;
  }
  return downloads_.has(wanted) ? std::optional(wanted) : std::nullopt;
}

}  // namespace stationer::print
