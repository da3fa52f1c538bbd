#include "print/escape.h"

#include <algorithm>
#include <string_view>

namespace stationer::print {
namespace {

constexpr std::uint8_t esc = 0x1B;

// How many bytes of arguments each dot-matrix command has; those not listed have none. Data, if
// any, comes after them.
constexpr std::string_view one_argument = "!%+-/3AIJNQRSUWaijklpqrstwx) \x19";
constexpr std::string_view two_arguments = "$?\\cefKLYZ";
constexpr std::string_view three_arguments = "(*^&:X";

// 32 tab stops and NUL.
constexpr std::uint8_t longest_list = 33;

// No raster row of a laser printer is longer; a larger number is a misreading.
constexpr std::uint32_t most_data = 32'767;

bool is_in(std::string_view letters, std::uint8_t byte) {
  return letters.find(static_cast<char>(byte)) != std::string_view::npos;
}

bool is_between(std::uint8_t byte, std::uint8_t first, std::uint8_t last) {
  return byte >= first && byte <= last;
}

bool is_digit(std::uint8_t byte) {
  return is_between(byte, '0', '9');
}

}  // namespace

void EscapeSkipper::begin_escape() {
  state_ = State::command;
}

void EscapeSkipper::begin_control_sequence() {
  state_ = State::control_sequence;
}

bool EscapeSkipper::put(std::uint8_t byte) {
  switch (state_) {
    case State::outside: return false;
    case State::command: return command(byte);
    case State::arguments: return argument(byte);
    case State::data: skip(data_ - 1); return true;
    case State::list: return list(byte);
    case State::numbers: return numbers(byte);
    case State::control_sequence: return control_sequence(byte);
  }
  return false;
}

void EscapeSkipper::skip(std::uint32_t bytes) {
  data_ = bytes;
  state_ = bytes == 0 ? State::outside : State::data;
}

bool EscapeSkipper::command(std::uint8_t byte) {
  if (byte == esc) return true;  // the sequence starts anew
  command_ = byte;
  argument_count_ = 0;
  arguments_wanted_ = is_in(one_argument, byte)      ? 1
                      : is_in(two_arguments, byte)   ? 2
                      : is_in(three_arguments, byte) ? 3
                                                     : 0;
  if (arguments_wanted_ != 0) {
    state_ = State::arguments;
  } else if (byte == '[') {
    state_ = State::control_sequence;
  } else if (byte == 'D' || byte == 'B') {
    listed_ = 0;
    previous_ = 0;
    state_ = State::list;
  } else {
    state_ = State::outside;
    return byte >= 0x20;  // a control code after ESC counts for itself
  }
  return true;
}

bool EscapeSkipper::argument(std::uint8_t byte) {
  arguments_[argument_count_++] = byte;

  if (is_laser_command()) {
    number_ = 0;
    state_ = State::numbers;
    return argument_count_ == 1 || numbers(byte);
  }
  if (command_ == '(' && argument_count_ == 2 && byte >= 8) {
    // No command of printers has so long a count: this was ECMA-35's ESC ( F for a character set.
    state_ = State::outside;
    return false;
  }
  if (argument_count_ < arguments_wanted_) return true;
  skip(announced_data());
  return true;
}

// Where dot-matrix printers take small numbers, laser printers take letters and digits.
bool EscapeSkipper::is_laser_command() const {
  const std::uint8_t first = arguments_[0];
  const std::uint8_t last = arguments_[argument_count_ - 1u];
  const bool letter = is_between(first, 0x60, 0x7E);
  if (argument_count_ == 1)
    return command_ == '%' ? first == '-' : is_in("&)*", command_) && letter;
  if (argument_count_ != 2 || command_ != '(') return false;
  return letter ? is_between(last, 0x2B, 0x7E)
                : is_digit(first) && (is_digit(last) || is_between(last, 'A', 'Z'));
}

// The bytes of data that follow the arguments. Their last two are a count, low byte first.
std::uint32_t EscapeSkipper::announced_data() const {
  if (!is_in("KLYZ(*^", command_)) return 0;
  const std::uint8_t low = arguments_[arguments_wanted_ - 2u];
  const std::uint8_t high = arguments_[arguments_wanted_ - 1u];
  if (high > 31) return 0;  // no count goes so far: not a bit image
  const std::uint32_t count = low + 256u * high;
  if (command_ == '^') return 2 * count;  // nine dots a column
  if (command_ != '*') return count;
  const std::uint8_t mode = arguments_[0];  // tells the dots a column
  return count * (mode < 32 ? 1 : mode < 64 ? 3 : 6);
}

bool EscapeSkipper::list(std::uint8_t byte) {
  ++listed_;
  if (byte == 0 || byte < previous_ || listed_ == longest_list) state_ = State::outside;
  previous_ = byte;
  return true;
}

bool EscapeSkipper::numbers(std::uint8_t byte) {
  if (is_digit(byte)) {
    number_ = std::min(number_ * 10 + (byte - '0'), most_data);
  } else if (byte == '+' || byte == '-' || byte == '.') {
    // a sign, or the point before a fraction
  } else if (is_between(byte, 0x60, 0x7E)) {
    number_ = 0;  // another one follows
  } else if (is_between(byte, 0x40, 0x5E)) {
    skip(byte == 'W' ? number_ : 0);
  } else {
    state_ = State::outside;
    return false;
  }
  return true;
}

bool EscapeSkipper::control_sequence(std::uint8_t byte) {
  if (is_between(byte, 0x20, 0x3F)) return true;
  state_ = State::outside;
  return is_between(byte, 0x40, 0x7E);
}

}  // namespace stationer::print
