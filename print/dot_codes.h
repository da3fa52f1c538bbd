// Cuts a dot-matrix printer's bytes into characters, commands with their arguments, and data. Every
// command takes exactly its bytes, those it has no meaning for on this printer as well; what is of
// no command is told as unknown and never taken for a character.
//
// ESC/P Reference Manual (1997) and the manuals of 9-pin and 24-pin printers; what the commands
// mean is print/dot_matrix.h's. Where a command's length depends on others before it, those are
// kept track of here: ESC ? gives ESC K L Y Z their densities, ESC x and ESC S the bytes of
// downloaded characters.
//
// A byte machine. It keeps arguments, never data, so its memory is fixed.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>

#include "print/dot_modes.h"
#include "print/report.h"

namespace stationer::print {

// How commands are told apart: a control code by its number, the others by their letter.
constexpr unsigned esc(char letter) {
  return 0x100u | static_cast<std::uint8_t>(letter);
}
constexpr unsigned esc_parenthesis(char letter) {
  return 0x200u | static_cast<std::uint8_t>(letter);
}

struct DotCommand {
  unsigned code = 0;
  // What follows the letter. ESC K L Y Z come as the ESC * they stand for; a list without its end;
  // of ESC ( what follows the count, as far as there is room for. ESC & comes once for each
  // character, with its number and what goes before its dots.
  std::span<const std::uint8_t> arguments;
  // How many bytes of data follow, unpacked.
  std::uint64_t data = 0;
};

class DotCodes {
 public:
  enum class What : std::uint8_t {
    nothing,    // yet
    character,  // byte() is to be printed
    command,    // command() is complete but for its data
    data,       // byte() is data of the command, repeat() times
    unknown,    // code() has no meaning here
  };

  explicit DotCodes(Pins pins);

  // The next byte. If taken() is false then, it belongs to what comes next, and is to be put again.
  What put(std::uint8_t byte);
  bool taken() const { return taken_; }

  std::uint8_t byte() const { return byte_; }
  unsigned repeat() const { return repeat_; }
  const DotCommand& command() const { return command_; }
  // The command as it was sent, as far as a report shows it.
  const UnknownCode& code() const { return code_; }

  // Whether 80-9F are the control codes that they are without their eighth bit, and whether control
  // codes without a meaning print.
  void set_controls(bool upper, bool unused_print);
  // What ESC x says until it does.
  void set_near_letter_quality(bool on) { near_letter_quality_ = on; }

  // As ESC = does.
  void set_seven_bits();

  // As when switched on.
  void reset();

 private:
  enum class State : std::uint8_t {
    outside,
    deselected,   // by DC3: nothing counts until DC1
    escape,       // the byte after ESC
    arguments,    // so many bytes that the command has
    optional,     // one byte, if it is one that the command may have
    list,         // tab stops: to NUL, or to a value below the one before
    parenthesis,  // the letter and the count after ESC (
    kept,         // what the count announced
    literal,      // the same, of characters
    download,     // what goes before the dots of a downloaded character
    data,
    packed_count,  // of a raster with its rows packed: how many bytes are alike or follow
    packed_byte,
    packed_bytes,
  };

  What outside(std::uint8_t byte);
  What letter(std::uint8_t byte);
  What argument(std::uint8_t byte);
  What list(std::uint8_t byte);
  What complete();
  What parenthesis(std::uint8_t byte);
  What kept(std::uint8_t byte);
  What complete_parenthesis();
  void next_download();
  What download(std::uint8_t byte);
  void expect(std::uint64_t bytes, State state);
  What data(std::uint8_t byte, unsigned times);
  What packed_count(std::uint8_t byte);
  void keep_track();
  void note(std::uint8_t byte);
  void wait(State state, unsigned arguments);
  void make_controls();
  std::span<const std::uint8_t> sent_arguments() const {
    return std::span(arguments_).first(argument_count_);
  }

  static constexpr std::size_t most_tabs = 32;

  const Pins pins_;
  State state_ = State::outside;
  bool taken_ = true;
  std::uint8_t byte_ = 0;
  unsigned repeat_ = 1;
  std::uint64_t offset_ = 0;  // of the byte being put

  DotCommand command_;
  UnknownCode code_;
  char letter_ = 0;
  bool known_ = true;  // to this printer
  std::array<std::uint8_t, 1 + most_tabs> arguments_{};
  unsigned argument_count_ = 0;
  unsigned arguments_wanted_ = 0;
  std::uint8_t previous_ = 0;  // in a list
  std::uint64_t left_ = 0;     // bytes still to come: unpacked ones of data, sent ones elsewhere
  unsigned packed_left_ = 0;
  unsigned next_download_ = 0;
  unsigned last_download_ = 0;

  std::array<bool, 256> controls_{};
  bool upper_controls_ = true;
  bool unused_print_ = false;
  bool eighth_bit_forced_ = false;
  bool eighth_bit_ = false;
  bool near_letter_quality_ = false;
  bool script_ = false;
  std::array<std::uint8_t, 4> densities_{};  // of ESC K L Y Z
};

}  // namespace stationer::print
