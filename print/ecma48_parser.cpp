#include "print/ecma48_parser.h"

#include <algorithm>

namespace stationer::print {
namespace {

using Kind = ControlFunction::Kind;

constexpr std::uint8_t bel = 0x07;
constexpr std::uint8_t can = 0x18;
constexpr std::uint8_t sub = 0x1A;
constexpr std::uint8_t esc = 0x1B;
constexpr std::uint8_t dcs = 0x90;
constexpr std::uint8_t sos = 0x98;
constexpr std::uint8_t csi = 0x9B;
constexpr std::uint8_t st = 0x9C;
constexpr std::uint8_t osc = 0x9D;
constexpr std::uint8_t pm = 0x9E;
constexpr std::uint8_t apc = 0x9F;

// No function of a printer is longer. The end of one that is will be found all the same.
constexpr std::uint64_t longest_sequence = 256;

bool is_between(std::uint8_t byte, std::uint8_t first, std::uint8_t last) {
  return byte >= first && byte <= last;
}

}  // namespace

void Ecma48Parser::begin(State state, std::uint8_t opener, std::uint64_t length) {
  state_ = state;
  opener_ = opener;
  intermediate_ = 0;
  standard_ = true;
  length_ = length;
  values_[0] = empty;
  parameter_ = 0;
}

Ecma48Parser::Step Ecma48Parser::complete(ControlFunction::Kind kind, std::uint8_t final,
                                          Step step) {
  function_ = {kind, final, intermediate_, standard_, length_};
  state_ = State::outside;
  return step;
}

Ecma48Parser::Step Ecma48Parser::put(std::uint8_t byte) {
  if (state_ == State::string || state_ == State::escape_in_string) return string(byte);
  const bool inside = state_ != State::outside;
  if (byte == esc) {
    if (inside) return complete(Kind::broken, opener_, Step::refused);
    begin(State::escape, esc, 1);
    return Step::more;
  }
  if (inside && (byte == can || byte == sub)) {
    ++length_;
    return complete(Kind::broken, opener_);
  }
  if (byte < 0x20 || byte == 0x7F) {
    ++length_;
    function_ = {Kind::code, byte, 0, true, 1};  // and what is inside goes on
    return Step::function;
  }
  if (inside && byte >= 0x7F) return complete(Kind::broken, opener_, Step::refused);
  if (!inside) return put_code(byte, 1);
  ++length_;
  return state_ == State::escape ? escape(byte) : sequence(byte);
}

Ecma48Parser::Step Ecma48Parser::put_code(std::uint8_t code, std::uint64_t length) {
  const bool opens_string = code == dcs || code == sos || code == osc || code == pm || code == apc;
  begin(code == csi    ? State::sequence
        : opens_string ? State::string
                       : State::outside,
        code, length);
  return state_ == State::outside ? complete(Kind::code, code) : Step::more;
}

Ecma48Parser::Step Ecma48Parser::escape(std::uint8_t byte) {
  if (byte < 0x30) {
    standard_ &= intermediate_ == 0;
    intermediate_ = byte;
    return Step::more;
  }
  if (intermediate_ == 0 && is_between(byte, 0x40, 0x5F)) {
    return put_code(static_cast<std::uint8_t>(byte + 0x40), length_);
  }
  return complete(Kind::escape, byte);
}

Ecma48Parser::Step Ecma48Parser::sequence(std::uint8_t byte) {
  if (byte >= 0x40) return complete(Kind::sequence, byte);
  if (length_ > longest_sequence) {
    standard_ = false;
  } else if (byte < 0x30) {
    standard_ &= intermediate_ == 0;
    intermediate_ = byte;
  } else {
    parameter_byte(byte);
  }
  return Step::more;
}

void Ecma48Parser::parameter_byte(std::uint8_t byte) {
  std::uint32_t& value = values_[parameter_];
  if (intermediate_ != 0 || byte > ';') {
    standard_ = false;
  } else if (byte == ':') {
    value = largest;
  } else if (byte != ';') {
    value = std::min((value == empty ? 0 : value) * 10 + (byte - '0'), largest);
  } else if (parameter_ + 1 < most_parameters) {
    values_[++parameter_] = empty;
  } else {
    standard_ = false;
  }
}

std::uint32_t Ecma48Parser::parameter(std::size_t place, std::uint32_t otherwise) const {
  return place > parameter_ || values_[place] == empty ? otherwise : values_[place];
}

Ecma48Parser::Step Ecma48Parser::string(std::uint8_t byte) {
  const bool after_escape = state_ == State::escape_in_string;
  if ((after_escape && byte == '\\') || (is_code(byte) && byte == st) ||
      (opener_ == osc && byte == bel)) {
    ++length_;
    return complete(Kind::string, opener_);
  }
  if (opener_ != sos) {
    if (after_escape) {
      complete(Kind::broken, opener_);
      begin(State::escape, esc, 1);
      return Step::refused;
    }
    if (byte == can || byte == sub) {
      ++length_;
      return complete(Kind::broken, opener_);
    }
    const bool stands = byte >= 0x20 ? !is_code(byte) : byte == esc || is_between(byte, 0x08, 0x0D);
    if (!stands) return complete(Kind::broken, opener_, Step::refused);
  }
  ++length_;
  state_ = byte == esc ? State::escape_in_string : State::string;
  return Step::more;
}

bool Ecma48Parser::finish() {
  if (state_ == State::outside) return false;
  complete(Kind::broken, opener_);
  return true;
}

}  // namespace stationer::print
