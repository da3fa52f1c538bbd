// The grammar of ECMA-48 (5th edition, 1991): where control functions begin and end in a job, and
// what their parameters are. What they do is up to print/ecma48.h.
//
//   codes 00-1F, 7F and 80-9F; ESC 40-5F is the same as 80-9F                     5.2, 5.3
//   CSI P… I… F       a sequence: P 30-3F, I 20-2F, F 40-7E                       5.4
//   ESC I… F          an escape sequence: I 20-2F, F 30-7E                        5.5, ECMA-35
//   DCS OSC PM APC    begin strings of 08-0D and 20-7E, SOS one of any bytes; ST
//                     ends them; what is in them means nothing here               5.6
//
// For what the standard leaves open, common practice: a code of 00-1F inside a sequence counts for
// itself, and the sequence goes on; CAN and SUB end it; ESC begins another; a byte that can't stand
// there ends it and stands for itself; BEL ends OSC's string. Memory is bounded, whatever comes.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

namespace stationer::print {

struct ControlFunction {
  enum class Kind : std::uint8_t {
    code,      // final is one of 00-1F, 7F, 80-9F
    escape,    // ESC and final
    sequence,  // CSI, parameters and final
    string,    // one that has ended; final is the code that began it
    broken,    // one that was begun and not ended; final is the code that began it: ESC, CSI, …
  };

  Kind kind = Kind::code;
  std::uint8_t final = 0;
  std::uint8_t intermediate = 0;  // the byte of 20-2F before final; 0: there is none
  bool standard = true;           // false: private, or of a shape that no function has
  std::uint64_t length = 0;       // bytes to its last one, with the codes that came between
};

class Ecma48Parser {
 public:
  static constexpr std::size_t most_parameters = 32;
  // Larger ones are this, and so is one made of parts (3A between them).
  static constexpr std::uint32_t largest = 0xFF'FFFF;

  // Whether bytes 80-9F are control codes; in code pages and in UTF-8 they are not.
  explicit Ecma48Parser(bool eight_bits) : eight_bits_(eight_bits) {}

  // Whether put() has to have the byte; otherwise it is none of a control function.
  bool takes(std::uint8_t byte) const {
    return state_ != State::outside || byte < 0x20 || byte == 0x7F || is_code(byte);
  }

  enum class Step : std::uint8_t {
    more,      // the byte belongs to something that is not complete
    function,  // function() is complete with it
    refused,   // function() is over without it: the byte is to be looked at anew
  };
  Step put(std::uint8_t byte);

  // The code, of 80-9F, came in another form, of so many bytes. Not to be called inside a function.
  Step put_code(std::uint8_t code, std::uint64_t length);

  // The input has ended. True if inside a function, which function() tells as a broken one.
  bool finish();

  const ControlFunction& function() const { return function_; }

  // Of a sequence: how many parameters there are, of which the last ones may be empty; and the one
  // at a place, from 0, or `otherwise` if it is empty or there are not so many.
  std::size_t parameters() const { return parameter_ + 1; }
  std::uint32_t parameter(std::size_t place, std::uint32_t otherwise) const;

 private:
  enum class State : std::uint8_t { outside, escape, sequence, string, escape_in_string };

  bool is_code(std::uint8_t byte) const { return eight_bits_ && byte >= 0x80 && byte < 0xA0; }
  Step escape(std::uint8_t byte);
  Step sequence(std::uint8_t byte);
  void parameter_byte(std::uint8_t byte);
  Step string(std::uint8_t byte);
  void begin(State state, std::uint8_t opener, std::uint64_t length);
  Step complete(ControlFunction::Kind kind, std::uint8_t final, Step step = Step::function);

  const bool eight_bits_;
  State state_ = State::outside;
  std::uint8_t opener_ = 0;
  std::uint8_t intermediate_ = 0;
  bool standard_ = true;
  std::uint64_t length_ = 0;
  ControlFunction function_;

  static constexpr std::uint32_t empty = ~std::uint32_t{0};
  std::array<std::uint32_t, most_parameters> values_{};
  std::size_t parameter_ = 0;
};

}  // namespace stationer::print
