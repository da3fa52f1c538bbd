// Finds the end of escape sequences in text that should hold none, so that a driver set to another
// printer costs its effects but prints no rubbish.
//
// Three families are known. They give the same letters different meanings; what ends up in a
// printer queue decides here:
// - dot-matrix printers, with the data of bit images and the lists of tab stops (ESC/P Reference
//   Manual, 1997; manuals of 9-pin and 24-pin printers);
// - laser printers' ESC, a sign, letters and numbers, a capital at the end, data after W (from
//   memory);
// - ECMA-48 control sequences (section 5.4: CSI, parameters 30-3F, intermediates 20-2F, final
// 40-7E);
//   its other escape sequences count as the first family's.
#pragma once

#include <array>
#include <cstdint>

namespace stationer::print {

class EscapeSkipper {
 public:
  // A sequence begins: ESC (1B) was read, or CSI as one character (9B).
  void begin_escape();
  void begin_control_sequence();

  bool inside() const { return state_ != State::outside; }

  // Takes the next byte; only while inside(). False when the byte can't belong to the sequence:
  // that is over, and the byte stands for itself.
  bool put(std::uint8_t byte);

 private:
  enum class State : std::uint8_t {
    outside,
    command,           // the byte after ESC
    arguments,         // so many bytes that the command has
    data,              // so many bytes that the arguments announce
    list,              // tab stops: to NUL, or to a value below the one before
    numbers,           // a laser printer's, to a capital
    control_sequence,  // ECMA-48's, to the final byte
  };

  bool command(std::uint8_t byte);
  bool argument(std::uint8_t byte);
  bool is_laser_command() const;
  std::uint32_t announced_data() const;
  bool list(std::uint8_t byte);
  bool numbers(std::uint8_t byte);
  bool control_sequence(std::uint8_t byte);
  void skip(std::uint32_t bytes);

  State state_ = State::outside;
  std::uint8_t command_ = 0;
  std::array<std::uint8_t, 3> arguments_{};
  std::uint8_t argument_count_ = 0;
  std::uint8_t arguments_wanted_ = 0;
  std::uint8_t listed_ = 0;
  std::uint8_t previous_ = 0;
  std::uint32_t number_ = 0;
  std::uint32_t data_ = 0;
};

}  // namespace stationer::print
