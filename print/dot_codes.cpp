#include "print/dot_codes.h"

#include <algorithm>
#include <string_view>

namespace stationer::print {
namespace {

constexpr std::uint8_t escape = 0x1B;
constexpr std::uint8_t select = 0x11;    // DC1
constexpr std::uint8_t deselect = 0x13;  // DC3

// NUL BEL BS HT LF VT FF CR SO SI DC1 DC2 DC3 DC4 CAN ESC; and DEL. The others below 20 mean
// nothing.
constexpr std::string_view meaningful(
    "\x00\x07\x08\x09\x0A\x0B\x0C\x0D\x0E\x0F\x11\x12\x13\x14\x18"
    "\x1B\x7F",
    17);

enum class Tail : std::uint8_t {
  none,
  list,         // of tab stops
  columns,      // as many columns of dots as the last two arguments say
  raster,       // rows of dots
  downloads,    // characters
  parenthesis,  // a letter, and as many bytes as a count says
  optional,     // one more byte, if it is 0 or 4
};

enum class On : std::uint8_t { both, nine, twenty_four };

struct Row {
  char letter;
  std::uint8_t arguments;
  Tail tail = Tail::none;
  On on = On::both;
};

constexpr auto rows = std::to_array<Row>({
    {' ', 1},
    {'!', 1},
    {'#', 0},
    {'$', 2},
    {'%', 1},  // 2 if the first is 5 or 9
    {'&', 3, Tail::downloads},
    {'(', 0, Tail::parenthesis},
    {'*', 3, Tail::columns},
    {'+', 1, Tail::none, On::twenty_four},
    {'-', 1},
    {'.', 6, Tail::raster, On::twenty_four},
    {'/', 1},
    {'0', 0},
    {'1', 0, Tail::none, On::nine},
    {'2', 0},
    {'3', 1},
    {'4', 0},
    {'5', 0},
    {'6', 0},
    {'7', 0},
    {'8', 0},
    {'9', 0},
    {':', 3},
    {'<', 0},
    {'=', 0},
    {'>', 0},
    {'?', 2},
    {'@', 0},
    {'A', 1},
    {'B', 0, Tail::list},
    {'C', 1},  // 2 if the first is 0
    {'D', 0, Tail::list},
    {'E', 0},
    {'F', 0},
    {'G', 0},
    {'H', 0},
    {'I', 1, Tail::none, On::nine},
    {'J', 1},
    {'K', 2, Tail::columns},
    {'L', 2, Tail::columns},
    {'M', 0},
    {'N', 1},
    {'O', 0},
    {'P', 0},
    {'Q', 1},
    {'R', 1},
    {'S', 1},
    {'T', 0},
    {'U', 1},
    {'W', 1},
    {'X', 3, Tail::none, On::twenty_four},
    {'Y', 2, Tail::columns},
    {'Z', 2, Tail::columns},
    {'\\', 2},
    {'^', 3, Tail::columns, On::nine},
    {'a', 1},
    {'b', 1, Tail::list},
    {'c', 2, Tail::none, On::twenty_four},
    {'e', 2},
    {'f', 2},
    {'g', 0},
    {'i', 1},
    {'j', 1},
    {'k', 1},
    {'l', 1},
    {'m', 0, Tail::optional, On::nine},
    {'p', 1},
    {'q', 1},
    {'r', 1},
    {'s', 1},
    {'t', 1},
    {'w', 1},
    {'x', 1},
    {'\x0E', 0},
    {'\x0F', 0},
    {'\x19', 1},
});

// The commands after ESC ( that have a meaning; all are of late 24-pin printers.
constexpr std::string_view parenthesized = "-CGUVctv^";

const Row* find(char letter) {
  const auto at = std::find_if(rows.begin(), rows.end(),
                               [letter](const Row& row) { return row.letter == letter; });
  return at == rows.end() ? nullptr : &*at;
}

std::uint32_t word(std::span<const std::uint8_t> bytes) {
  return bytes[0] + 256u * bytes[1];
}

bool is_meaningful(std::uint8_t code) {
  return meaningful.find(static_cast<char>(code)) != std::string_view::npos;
}

constexpr std::string_view dense = "KLYZ";

}  // namespace

DotCodes::DotCodes(Pins pins) : pins_(pins) {
  reset();
}

void DotCodes::reset() {
  state_ = State::outside;
  upper_controls_ = true;
  unused_print_ = false;
  eighth_bit_forced_ = false;
  near_letter_quality_ = false;
  script_ = false;
  densities_ = {0, 1, 2, 3};
  make_controls();
}

void DotCodes::make_controls() {
  for (unsigned code = 0; code < 0x20; ++code) {
    const bool controls = !unused_print_ || is_meaningful(static_cast<std::uint8_t>(code));
    controls_[code] = controls;
    controls_[0x80 + code] = controls && upper_controls_;
  }
  controls_[0x7F] = true;
}

void DotCodes::set_controls(bool upper, bool unused_print) {
  if (upper == upper_controls_ && unused_print == unused_print_) return;
  upper_controls_ = upper;
  unused_print_ = unused_print;
  make_controls();
}

void DotCodes::set_seven_bits() {
  eighth_bit_forced_ = true;
  eighth_bit_ = false;
}

DotCodes::What DotCodes::put(std::uint8_t byte) {
  taken_ = true;
  byte_ = byte;
  What what = What::nothing;
  switch (state_) {
    case State::outside: what = outside(byte); break;
    case State::deselected:
      if (byte == select) state_ = State::outside;
      break;
    case State::escape: what = letter(byte); break;
    case State::arguments: what = argument(byte); break;
    case State::optional:
      state_ = State::outside;
      taken_ = byte == 0 || byte == 4;
      what = complete();
      break;
    case State::list: what = list(byte); break;
    case State::parenthesis: what = parenthesis(byte); break;
    case State::kept: what = kept(byte); break;
    case State::literal:
      if (--left_ == 0) state_ = State::outside;
      what = What::character;
      break;
    case State::download: what = download(byte); break;
    case State::data: what = data(byte, 1); break;
    case State::packed_count: what = packed_count(byte); break;
    case State::packed_byte:
      state_ = State::packed_count;
      what = data(byte, packed_left_);
      break;
    case State::packed_bytes:
      if (--packed_left_ == 0) state_ = State::packed_count;
      what = data(byte, 1);
      break;
  }
  if (taken_) ++offset_;
  return what;
}

void DotCodes::note(std::uint8_t byte) {
  if (code_.size < code_.bytes.size()) code_.bytes[code_.size++] = byte;
}

DotCodes::What DotCodes::outside(std::uint8_t byte) {
  if (eighth_bit_forced_) {
    byte &= 0x7F;
    if (eighth_bit_ && !controls_[byte]) byte |= 0x80;
  }
  byte_ = byte;
  if (!controls_[byte]) return What::character;
  code_ = {offset_, {}, 0};
  note(byte);
  const std::uint8_t code = byte == 0x7F ? byte : byte & 0x1F;
  switch (code) {
    case 0x00:
    case 0x07:
    case select: return What::nothing;
    case deselect: state_ = State::deselected; return What::nothing;
    case escape: state_ = State::escape; return What::nothing;
    default: command_ = {code, {}, 0}; return is_meaningful(code) ? What::command : What::unknown;
  }
}

void DotCodes::wait(State state, unsigned arguments) {
  state_ = state;
  argument_count_ = 0;
  arguments_wanted_ = arguments;
}

DotCodes::What DotCodes::letter(std::uint8_t byte) {
  state_ = State::outside;
  letter_ = static_cast<char>(byte);
  const Row* const row = find(letter_);
  if (row == nullptr) {
    // A control code after ESC counts for itself.
    taken_ = byte >= 0x20;
    if (taken_) note(byte);
    return What::unknown;
  }
  note(byte);
  known_ = row->on == On::both || (row->on == On::nine) == (pins_ == Pins::nine);
  switch (row->tail) {
    case Tail::parenthesis: wait(State::parenthesis, 3); return What::nothing;
    case Tail::optional: wait(State::optional, 0); return What::nothing;
    case Tail::list:
      previous_ = 0;
      wait(row->arguments == 0 ? State::list : State::arguments, row->arguments);
      return What::nothing;
    default:
      wait(State::arguments, row->arguments);
      return row->arguments == 0 ? complete() : What::nothing;
  }
}

DotCodes::What DotCodes::argument(std::uint8_t byte) {
  note(byte);
  arguments_[argument_count_++] = byte;
  const bool first = argument_count_ == 1;
  if (letter_ == 'C' && first && byte == 0) arguments_wanted_ = 2;
  if (letter_ == '%' && first && (byte == '5' || byte == '9')) arguments_wanted_ = 2;
  if (argument_count_ < arguments_wanted_) return What::nothing;
  if (letter_ == 'b') {
    state_ = State::list;
    return What::nothing;
  }
  return complete();
}

DotCodes::What DotCodes::list(std::uint8_t byte) {
  if (byte == 0 || byte < previous_) return complete();
  previous_ = byte;
  if (argument_count_ < arguments_wanted_ + most_tabs) arguments_[argument_count_++] = byte;
  return What::nothing;
}

DotCodes::What DotCodes::parenthesis(std::uint8_t byte) {
  arguments_[argument_count_++] = byte;
  if (argument_count_ == 1) {
    note(byte);
    letter_ = static_cast<char>(byte);
    known_ = pins_ == Pins::twenty_four && parenthesized.find(letter_) != std::string_view::npos;
    return known_ ? What::nothing : What::unknown;
  }
  if (argument_count_ < arguments_wanted_) return What::nothing;
  left_ = word(std::span(arguments_).subspan(1));
  const bool characters = known_ && letter_ == '^';
  wait(left_ == 0 ? State::outside : characters ? State::literal : State::kept, 0);
  return left_ == 0 && !characters ? complete_parenthesis() : What::nothing;
}

DotCodes::What DotCodes::kept(std::uint8_t byte) {
  if (argument_count_ < arguments_.size()) arguments_[argument_count_++] = byte;
  return --left_ == 0 ? complete_parenthesis() : What::nothing;
}

// One that has no meaning was told when its letter was read.
DotCodes::What DotCodes::complete_parenthesis() {
  state_ = State::outside;
  if (!known_) return What::nothing;
  command_ = {esc_parenthesis(letter_), sent_arguments(), 0};
  return What::command;
}

DotCodes::What DotCodes::complete() {
  state_ = State::outside;
  command_ = {esc(letter_), sent_arguments(), 0};
  switch (letter_) {
    case 'K':
    case 'L':
    case 'Y':
    case 'Z':
      arguments_ = {densities_[dense.find(letter_)], arguments_[0], arguments_[1]};
      command_ = {esc('*'), std::span(arguments_).first(3), 0};
      [[fallthrough]];
    case '*':
      known_ = known_ && find_dot_mode(pins_, arguments_[0]);
      expect(bytes_a_column(arguments_[0]) * word(std::span(arguments_).subspan(1)), State::data);
      break;
    case '^':
      known_ = known_ && find_nine_dot_mode(arguments_[0]);
      expect(2 * word(std::span(arguments_).subspan(1)), State::data);
      break;
    case '.': {
      const std::uint8_t packing = arguments_[0];
      const std::uint32_t row_bytes = (word(std::span(arguments_).subspan(4)) + 7) / 8;
      known_ = known_ && packing <= 1;
      if (packing <= 1) {
        expect(arguments_[3] * row_bytes, packing == 0 ? State::data : State::packed_count);
      }
      break;
    }
    case '&':
      next_download_ = arguments_[1];
      last_download_ = arguments_[2];
      next_download();
      return What::nothing;
    default: keep_track();
  }
  return known_ ? What::command : What::unknown;
}

void DotCodes::expect(std::uint64_t bytes, State state) {
  left_ = bytes;
  command_.data = bytes;
  if (bytes != 0) state_ = state;
}

DotCodes::What DotCodes::data(std::uint8_t byte, unsigned times) {
  byte_ = byte;
  repeat_ = static_cast<unsigned>(std::min<std::uint64_t>(times, left_));
  left_ -= repeat_;
  if (left_ == 0) {
    state_ = State::outside;
    if (letter_ == '&') next_download();
  }
  return known_ ? What::data : What::nothing;
}

DotCodes::What DotCodes::packed_count(std::uint8_t byte) {
  // 80 would be 129 times the next; as elsewhere in this way of packing it is no count at all.
  if (byte == 0x80) return What::nothing;
  state_ = byte < 0x80 ? State::packed_bytes : State::packed_byte;
  packed_left_ = byte < 0x80 ? byte + 1u : 257u - byte;
  return What::nothing;
}

// Waits for what goes before the dots of the next character, if there is one.
void DotCodes::next_download() {
  if (next_download_ > last_download_) return;
  wait(State::download, pins_ == Pins::nine && !near_letter_quality_ ? 2 : 4);
  arguments_[argument_count_++] = static_cast<std::uint8_t>(next_download_++);
}

DotCodes::What DotCodes::download(std::uint8_t byte) {
  arguments_[argument_count_++] = byte;
  if (argument_count_ < arguments_wanted_) return What::nothing;
  state_ = State::outside;
  command_ = {esc('&'), sent_arguments(), 0};
  constexpr unsigned draft_columns = 11;
  const unsigned column = pins_ == Pins::twenty_four && script_ ? 2 : 3;
  expect(arguments_wanted_ == 2 ? draft_columns : column * arguments_[2], State::data);
  if (left_ == 0) next_download();
  return What::command;
}

// Of what changes the length of later commands.
void DotCodes::keep_track() {
  switch (letter_) {
    case '?':
      if (const auto at = dense.find(static_cast<char>(arguments_[0]));
          at != std::string_view::npos) {
        densities_[at] = arguments_[1];
      }
      break;
    case 'x': near_letter_quality_ = (arguments_[0] & 1) != 0; break;
    case 'S': script_ = true; break;
    case 'T': script_ = false; break;
    case '#': eighth_bit_forced_ = false; break;
    case '=':
    case '>':
      eighth_bit_forced_ = true;
      eighth_bit_ = letter_ == '>';
      break;
    default: break;
  }
}

}  // namespace stationer::print
