#include "print/ecma48.h"

#include <algorithm>

#include "print/ecma48_sizes.h"
#include "print/overstrike.h"

namespace stationer::print {
namespace {

constexpr char32_t byte_order_mark = 0xFEFF;
constexpr char32_t no_break_space = 0xA0;

constexpr int tab_width = 8;
constexpr std::size_t most_stops = 256;
// Characters are no higher than those of six lines to the inch unless that is asked for.
constexpr Units usual_height = inches(1, 6);
constexpr std::uint32_t largest_percent = 1000;

// No page has so many columns.
constexpr std::uint32_t most_repeats = 10'000;

bool has_eight_bit_controls(Charset charset) {
  if (charset == Charset::utf_8) return false;
  const char32_t character = Decoder(charset).put(0x9B).at[0];
  return character == 0x9B || character == replacement_character;
}

// What a sequence is told apart by: its intermediate byte, if any, and its final one.
constexpr unsigned sequence_of(char final) {
  return static_cast<unsigned char>(final);
}
constexpr unsigned sequence_of(char intermediate, char final) {
  return static_cast<unsigned char>(intermediate) * 256u + static_cast<unsigned char>(final);
}

void add_stop(std::vector<Units>& stops, Units stop) {
  const auto at = std::lower_bound(stops.begin(), stops.end(), stop);
  if ((at == stops.end() || *at != stop) && stops.size() < most_stops) stops.insert(at, stop);
}

}  // namespace

Ecma48::Ecma48(const PlainTextRules& rules, const Layout& layout, PageSink sink)
    : rules_(rules),
      layout_(layout),
      gate_(rules.most_pages, std::move(sink)),
      decoder_(rules.charset),
      parser_(has_eight_bit_controls(rules.charset)),
      state_(initial()),
      strikes_(layout.left) {}

Ecma48::State Ecma48::initial() const {
  State state;
  state.pitch = layout_.cell.pitch;
  state.line = layout_.cell.height;
  state.feed_returns = rules_.feed_returns;
  state.limit = layout_.columns * layout_.cell.pitch;
  state.page_limit = layout_.lines * layout_.cell.height;
  const Units stops = tab_width * state.pitch;
  for (Units stop = stops; stop < state.limit; stop += stops) state.columns.push_back(stop);
  return state;
}

fs::Status Ecma48::feed(std::string_view bytes) {
  for (const char byte : bytes) {
    if (ended_) break;
    auto value = static_cast<std::uint8_t>(byte);
    if (rules_.seven_bits) value &= 0x7F;
    if (fs::Status status = put(value); !status) return status;
    ++offset_;
  }
  return {};
}

fs::Status Ecma48::put(std::uint8_t byte) {
  using Step = Ecma48Parser::Step;
  while (parser_.takes(byte)) {
    if (fs::Status cut = characters(decoder_.finish()); !cut) return cut;
    const Step step = parser_.put(byte);
    if (step == Step::more) return {};
    const bool again = step == Step::refused;
    if (fs::Status done = function(again ? offset_ : offset_ + 1); !done || !again) return done;
  }
  return characters(decoder_.put(byte));
}

fs::Status Ecma48::characters(const Decoder::Characters& decoded) {
  for (unsigned i = 0; i < decoded.count; ++i) {
    const char32_t character = decoded.at[i];
    fs::Status status;
    if (character < 0x80 || character > 0x9F) {
      status = graphic(character);
    } else if (parser_.put_code(static_cast<std::uint8_t>(character), 2) ==
               Ecma48Parser::Step::function) {
      status = function(offset_ + 1);
    }
    if (!status) return status;
  }
  return {};
}

fs::Status Ecma48::finish() {
  if (!ended_) {
    if (fs::Status cut = characters(decoder_.finish()); !cut) return cut;
    if (parser_.finish()) {
      if (fs::Status done = function(offset_); !done) return done;
    }
  }
  return gate_.close(struck());
}

fs::Status Ecma48::graphic(char32_t character) {
  if (character == byte_order_mark) return {};
  if (is_combining(character) && last_ != 0) {
    strike(character, last_x_);
    return {};
  }
  if (x_ + pitch() > state_.limit && x_ > state_.home) {
    x_ = state_.home;
    if (fs::Status status = feed_lines(1); !status) return status;
  }
  if (character == replacement_character) ++report_.unreadable;
  if (character != U' ' && character != no_break_space) {
    ++report_.characters;
    gate_.leave_top();
  }
  strike(character, x_);
  last_ = character;
  last_x_ = x_;
  x_ += pitch();
  return {};
}

void Ecma48::strike(char32_t character, Units x) {
  const Units baseline = layout_.baseline(0) + y_ + state_.part * (state_.line / 2);
  text_.add(
      {layout_.left + x, baseline, cell(), {character, state_.style, state_.ink}, state_.scores},
      strikes_);
}

Units Ecma48::pitch() const {
  const auto percent = static_cast<Units>(state_.width_percent);
  return std::max<Units>(state_.pitch * percent / 100, 1);
}

CellSize Ecma48::cell() const {
  Units height =
      state_.glyph_height != 0 ? state_.glyph_height : std::min(state_.line, usual_height);
  height = height * static_cast<Units>(state_.height_percent) / 100;
  if (state_.part != 0) height = height * 2 / 3;
  return {pitch(), std::max<Units>(height, 1)};
}

// The last line of the page.
Units Ecma48::lowest() const {
  return std::max(state_.page_home, state_.page_limit - std::min(state_.line, usual_height));
}

// All that is on the page.
const Page& Ecma48::struck() {
  text_.settle(strikes_);
  strikes_.give_to(page_);
  return page_;
}

fs::Status Ecma48::function(std::uint64_t end) {
  const ControlFunction& what = parser_.function();
  begun_ = end - what.length;
  switch (what.kind) {
    case ControlFunction::Kind::code: return code(what.final);
    case ControlFunction::Kind::sequence:
      if (what.standard) return sequence();
      break;
    case ControlFunction::Kind::escape:
      if (what.intermediate == 0 && what.final == 'c') {
        state_ = initial();
        x_ = 0;
        return {};
      }
      break;
    case ControlFunction::Kind::string:
    case ControlFunction::Kind::broken: break;
  }
  unknown();
  return {};
}

void Ecma48::unknown() {
  const ControlFunction& what = parser_.function();
  UnknownCode code{begun_, {}, 0};
  const auto add = [&code](unsigned byte) {
    code.bytes[code.size++] = static_cast<std::uint8_t>(byte);
  };
  const bool is_sequence = what.kind == ControlFunction::Kind::sequence;
  if (is_sequence || what.kind == ControlFunction::Kind::escape) {
    add(0x1B);
    if (is_sequence) add('[');
    if (what.intermediate != 0) add(what.intermediate);
    add(what.final);
  } else if (what.final >= 0x80 && what.length > 1) {
    add(0x1B);
    add(what.final - 0x40u);
  } else {
    add(what.final);
  }
  report_.count_unknown(code);
}

fs::Status Ecma48::code(std::uint8_t code) {
  const auto down = [this] {
    if (state_.feed_returns) x_ = state_.home;
    return feed_lines(1);
  };
  switch (code) {
    case 0x00:                                      // NUL
    case 0x07:                                      // BEL
    case 0x11:                                      // DC1
    case 0x13:                                      // DC3
    case 0x7F: return {};                           // DEL
    case 0x08: to_column(x_ - pitch()); return {};  // BS
    case 0x09: tab(); return {};                    // HT
    case 0x0A: return down();                       // LF
    case 0x0B:                                      // VT
      if (state_.lines.empty()) return down();
      if (state_.feed_returns) x_ = state_.home;
      return tab_down();
    case 0x0C:  // FF
      if (state_.feed_returns) x_ = state_.home;
      return begin_page(gate_.eject(struck()));
    case 0x0D:  // CR
      x_ = state_.home;
      return rules_.return_feeds ? feed_lines(1) : fs::Status{};
    case 0x82:  // BPH and NBH, where a line may be broken
    case 0x83: return {};
    case 0x84: return feed_lines(1);                     // IND, of earlier editions; from memory
    case 0x85: x_ = state_.home; return feed_lines(1);   // NEL
    case 0x88: add_stop(state_.columns, x_); return {};  // HTS
    case 0x8A: add_stop(state_.lines, y_); return {};    // VTS
    case 0x8B: part_line(1); return {};                  // PLD
    case 0x8C: part_line(-1); return {};                 // PLU
    case 0x8D: to_line(y_ - state_.line); return {};     // RI
    case 0x1A:                                           // SUB
      if (rules_.control_z_ends) {
        ended_ = true;
        return {};
      }
      [[fallthrough]];
    default: unknown(); return {};
  }
}

fs::Status Ecma48::sequence() {
  const ControlFunction& what = parser_.function();
  const unsigned which = what.intermediate * 256u + what.final;
  const auto column = [this](std::size_t place) {
    return spacings(number(place) - std::min(number(place), 1u), pitch());
  };
  const auto line = [this] {
    return state_.page_home + spacings(number() - std::min(number(), 1u), state_.line);
  };
  switch (which) {
    case sequence_of('`'):  // HPA
    case sequence_of('G'):  // CHA
      to_column(column(0));
      return {};
    case sequence_of('a'):  // HPR
    case sequence_of('C'):  // CUF
      to_column(x_ + spacings(number(), pitch()));
      return {};
    case sequence_of('j'):  // HPB
    case sequence_of('D'):  // CUB
      to_column(x_ - spacings(number(), pitch()));
      return {};
    case sequence_of('d'): to_line(line()); return {};  // VPA
    case sequence_of('e'):                              // VPR
    case sequence_of('B'):                              // CUD
      return feed_lines(number());
    case sequence_of('k'):  // VPB
    case sequence_of('A'):  // CUU
      to_line(y_ - spacings(number(), state_.line));
      return {};
    case sequence_of('E'): x_ = state_.home; return feed_lines(number());  // CNL
    case sequence_of('F'):                                                 // CPL
      x_ = state_.home;
      to_line(y_ - spacings(number(), state_.line));
      return {};
    case sequence_of('f'):  // HVP
    case sequence_of('H'):  // CUP
      to_line(line());
      to_column(column(1));
      return {};
    case sequence_of('I'):  // CHT
      for (std::uint32_t i = 0; i < number() && x_ < state_.limit; ++i) tab();
      return {};
    case sequence_of('Z'):  // CBT
      for (std::uint32_t i = 0; i < number() && x_ > state_.home; ++i) tab_back();
      return {};
    case sequence_of('Y'):  // CVT
      for (std::uint32_t i = 0; i < number(); ++i) {
        if (fs::Status status = tab_down(); !status) return status;
      }
      return {};
    case sequence_of('b'): return repeat(number());
    case sequence_of('g'): clear_tabs(number(0, 0)); return {};
    case sequence_of('h'): set_modes(true); return {};
    case sequence_of('l'): set_modes(false); return {};
    case sequence_of('m'): renditions(); return {};
    default: sizes(which); return {};
  }
}

// Sequences with a space before their final byte: what is large, and how far apart.
void Ecma48::sizes(unsigned which) {
  const auto set_length = [this](Units& length, std::size_t place) {
    const auto wanted = length_of(number(place, 0), state_.size_unit, length);
    if (wanted && number(place, 0) != 0) length = *wanted;
  };
  const auto choose = [this](Units& length, std::optional<Units> wanted) {
    if (!wanted) return unknown();
    length = *wanted;
  };
  const auto percent = [this](std::size_t place) {
    return std::clamp(number(place, 100), 1u, largest_percent);
  };
  const std::uint32_t choice = number(0, 0);
  switch (which) {
    case sequence_of(' ', 'B'):  // GSM
      state_.height_percent = percent(0);
      state_.width_percent = percent(1);
      break;
    case sequence_of(' ', 'C'):  // GSS
      if (state_.glyph_height == 0) state_.glyph_height = state_.line;
      set_length(state_.glyph_height, 0);
      break;
    case sequence_of(' ', 'G'):  // SPI
      set_length(state_.line, 0);
      set_length(state_.pitch, 1);
      break;
    case sequence_of(' ', 'h'): set_length(state_.line, 0); break;                       // SLS
    case sequence_of(' ', 'g'): set_length(state_.pitch, 0); break;                      // SCS
    case sequence_of(' ', 'K'): choose(state_.pitch, character_spacing(choice)); break;  // SHS
    case sequence_of(' ', 'L'): choose(state_.line, line_spacing(choice)); break;        // SVS
    case sequence_of(' ', 'I'):                                                          // SSU
      if (is_size_unit(choice)) {
        state_.size_unit = choice;
      } else {
        unknown();
      }
      break;
    case sequence_of(' ', 'H'): quad(choice); break;
    case sequence_of(' ', 'J'): set_sheet(choice); break;  // PFS
    case sequence_of(' ', 'X'): break;                     // SPQR
    default: margins(which); break;
  }
}

void Ecma48::margins(unsigned which) {
  const Units right = layout_.columns * layout_.cell.pitch;
  const Units foot = layout_.lines * layout_.cell.height;
  const std::uint32_t place = number(0, 0);
  if (place == 0) return unknown();
  switch (which) {
    case sequence_of(' ', 'U'):  // SLH
      state_.home = std::max(std::min(spacings(place - 1, pitch()), state_.limit - pitch()), 0);
      x_ = std::max(x_, state_.home);
      break;
    case sequence_of(' ', 'V'):  // SLL
      state_.limit = std::min(std::max(spacings(place, pitch()), state_.home + pitch()), right);
      break;
    case sequence_of(' ', 'i'):  // SPH
      state_.page_home = std::min(spacings(place - 1, state_.line), lowest());
      y_ = std::max(y_, state_.page_home);
      break;
    case sequence_of(' ', 'j'):  // SPL
      state_.page_limit =
          std::min(std::max(spacings(place, state_.line), state_.page_home + state_.line), foot);
      break;
    default: unknown(); break;
  }
}

Units Ecma48::spacings(std::uint32_t number, Units spacing) {
  constexpr std::int64_t longest = inches(100);
  return static_cast<Units>(std::min(std::int64_t{number} * spacing, longest));
}

void Ecma48::to_column(Units x) {
  x_ = std::clamp(x, state_.home, std::max(state_.home, state_.limit - pitch()));
}

void Ecma48::to_line(Units y) {
  text_.settle(strikes_);
  gate_.leave_top();
  y_ = std::clamp(y, state_.page_home, lowest());
}

fs::Status Ecma48::feed_lines(std::uint32_t number) {
  text_.settle(strikes_);
  for (std::uint32_t i = 0; i < number; ++i) {
    gate_.leave_top();
    y_ += state_.line;
    if (y_ <= lowest()) continue;
    if (fs::Status status = begin_page(gate_.fill(struck())); !status) return status;
  }
  return {};
}

// After the page before was given, or was none.
fs::Status Ecma48::begin_page(fs::Status status) {
  y_ = state_.page_home;
  page_.clear();
  return status;
}

void Ecma48::tab() {
  const auto next = std::upper_bound(state_.columns.begin(), state_.columns.end(), x_);
  x_ = std::min(next == state_.columns.end() ? state_.limit : *next, state_.limit);
}

void Ecma48::tab_back() {
  const auto next = std::lower_bound(state_.columns.begin(), state_.columns.end(), x_);
  x_ = std::max(next == state_.columns.begin() ? state_.home : *std::prev(next), state_.home);
}

// Past the last stop is the next page.
fs::Status Ecma48::tab_down() {
  const auto next = std::upper_bound(state_.lines.begin(), state_.lines.end(), y_);
  if (next == state_.lines.end() || *next > lowest()) {
    gate_.leave_top();
    return begin_page(gate_.fill(struck()));
  }
  to_line(*next);
  return {};
}

void Ecma48::clear_tabs(std::uint32_t which) {
  switch (which) {
    case 0: std::erase(state_.columns, x_); break;
    case 1: std::erase(state_.lines, y_); break;
    case 2:
    case 3: state_.columns.clear(); break;
    case 4: state_.lines.clear(); break;
    case 5:
      state_.columns.clear();
      state_.lines.clear();
      break;
    default: unknown(); break;
  }
}

fs::Status Ecma48::repeat(std::uint32_t times) {
  if (last_ == 0) {
    unknown();
    return {};
  }
  for (std::uint32_t i = 0; i < std::min(times, most_repeats); ++i) {
    if (fs::Status status = graphic(last_); !status) return status;
  }
  return {};
}

void Ecma48::part_line(int half_lines) {
  state_.part = std::clamp(state_.part + half_lines, -1, 1);
}

void Ecma48::renditions() {
  if (state_.replacing) render(0);
  bool known = true;
  for (std::size_t i = 0; i < parser_.parameters(); ++i) known &= render(number(i, 0));
  if (!known) unknown();
}

// False for what the standard does not have.
bool Ecma48::render(std::uint32_t rendition) {
  const auto set = [this](Style part, bool on) {
    const auto bits = static_cast<unsigned>(state_.style);
    const auto bit = static_cast<unsigned>(part);
    state_.style = static_cast<Style>(on ? bits | bit : bits & ~bit);
  };
  Scores& scores = state_.scores;
  switch (rendition) {
    case 0:
      state_.style = Style::plain;
      state_.ink = Ink::black;
      scores = {};
      return true;
    case 1: set(Style::bold, true); return true;
    case 22: set(Style::bold, false); return true;
    case 3: set(Style::italic, true); return true;
    case 23: set(Style::italic, false); return true;
    case 4: scores.under = true; return true;
    case 21: scores.under_twice = true; return true;
    case 24: scores.under = scores.under_twice = false; return true;
    case 9: scores.through = true; return true;
    case 29: scores.through = false; return true;
    case 53: scores.over = true; return true;
    case 55: scores.over = false; return true;
    case 31: state_.ink = Ink::red; return true;
    case 32: state_.ink = Ink::green; return true;
    case 33: state_.ink = Ink::yellow; return true;
    case 34: state_.ink = Ink::violet; return true;
    case 35: state_.ink = Ink::magenta; return true;
    case 36: state_.ink = Ink::cyan; return true;
    case 30:
    case 37:  // white is no ink
    case 39: state_.ink = Ink::black; return true;
    default: return rendition <= 65 && rendition != 38 && rendition != 48;
  }
}

void Ecma48::set_modes(bool on) {
  constexpr std::uint32_t feed_returns = 20;  // LNM, of earlier editions; from memory
  constexpr std::uint32_t cumulative = 21;    // GRCM
  constexpr std::uint32_t last = 22;
  for (std::size_t i = 0; i < parser_.parameters(); ++i) {
    const std::uint32_t mode = number(i, 0);
    if (mode == cumulative) {
      state_.replacing = !on;
    } else if (mode == feed_returns) {
      state_.feed_returns = on;
    } else if (mode == 0 || mode > last) {
      return unknown();
    }
  }
}

void Ecma48::quad(std::uint32_t how) {
  if (how > 6) return unknown();
  if (text_.empty()) return;
  x_ = text_.move(static_cast<QuadText::To>(how / 2), how % 2 != 0, layout_.left + state_.home,
                  layout_.left + state_.limit) -
       layout_.left;
  text_.settle(strikes_);
}

void Ecma48::set_sheet(std::uint32_t choice) {
  const auto size = sheet_size(choice);
  if (!size) return unknown();
  const State whole = initial();
  state_.limit = std::min(whole.limit, size->width);
  state_.page_limit = std::min(whole.page_limit, size->height);
  state_.home = std::max(std::min(state_.home, state_.limit - pitch()), 0);
  state_.page_home = std::min(state_.page_home, lowest());
}

JobReport Ecma48::report() const {
  JobReport report = report_;
  report.pages = gate_.pages();
  report.blots = strikes_.blots();
  report.crowded_out = strikes_.lost();
  return report;
}

}  // namespace stationer::print
