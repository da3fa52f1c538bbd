// Typing becomes lines: bytes from an old keyboard in, echo and finished lines out. Pure.
//
//   Enter                  CR, LF, CR LF or CR NUL
//   erase one character    BS or DEL
//   drop the line          NAK (Ctrl-U) or CAN (Ctrl-X)
//   show the line again    DC2 (Ctrl-R)
//   the last line again    DLE (Ctrl-P), or the key that sends CUU (ECMA-48 §8.3.22) or SS3 A
//   interrupt              ETX (Ctrl-C)
//
// Other cursor and function keys, which send ESC and more (ECMA-48 §5.4, ECMA-35 §13), are
// swallowed; the price is that ESC pressed alone takes the next character with it. Other control
// characters are ignored. The keys of the Telnet keyboard are fed as their equals: DEL, NAK, ETX.
//
// A finished line ends feed() early, so that what was typed ahead is not echoed before the next
// question has said how: a password typed ahead of its prompt stays hidden.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>

#include "print/charset.h"
#include "server/protocol/encoder.h"
#include "server/protocol/enter.h"
#include "server/protocol/text_out.h"

namespace stationer::server {

class LineEditor {
 public:
  // What else the far end is like, beside its Screen.
  struct Keyboard {
    bool seven_bits = false;  // bit 7 is parity or noise: take it off
    bool paper = false;       // no cursor to move back: an erased character is shown by <
  };

  enum class Echo : std::uint8_t {
    full,
    stars,   // a star for each character
    hidden,  // Enter only
    none,    // the far end shows its own typing
  };

  enum class Mode : std::uint8_t {
    answer,  // a line that is too long is refused whole; a tab counts as a space
    text,    // typing a file in: a line that is too long is given in parts; tabs stay
  };

  struct Question {
    std::string prompt;  // UTF-8
    Echo echo = Echo::full;
    Mode mode = Mode::answer;
    std::size_t longest = 255;  // characters, at least 1
    std::string recall{};       // UTF-8: the last line, to be had again
  };

  struct Line {
    std::string text;        // UTF-8, no line end
    bool continues = false;  // only in text: the line goes on in the next one
  };
  struct TooLong {
    std::size_t longest;
  };
  struct Interrupt {};
  using Outcome = std::variant<Line, TooLong, Interrupt>;

  struct Step {
    std::size_t used;  // bytes of the input taken; the rest is for after the outcome
    std::string echo;  // bytes for the station
    std::optional<Outcome> outcome;
  };

  LineEditor(const Screen& screen, Keyboard keyboard);

  // A new, empty line with its prompt. Returns the bytes of the prompt to send.
  std::string ask(Question question);

  // The far end turned out to show its typing after all, or not to. The line stays as it is.
  void set_echo(Echo echo) { question_.echo = echo; }

  // Takes input up to the first outcome. At most `longest` characters are kept; when one more is
  // typed, BEL sounds once and what follows is refused. Erasing shows that the member has noticed:
  // the line is then good again, otherwise Enter gives TooLong.
  Step feed(std::string_view typed);

 private:
  enum class Escape : std::uint8_t { none, started, single, sequence };

  bool escaped(unsigned char byte, Step& step);
  void control(unsigned char byte, Step& step);
  void character(char32_t c, Step& step);
  void enter(Step& step);
  void erase(Step& step);
  void drop(Step& step);
  void recall(Step& step);
  void show_again(std::string& echo) const;
  void take_back(int cells, std::string& echo) const;
  void put(char32_t c, std::string& echo) const;
  int width_shown() const;
  std::string_view newline() const { return bytes_of(screen_.ending); }
  std::string take_text();

  Screen screen_;
  Keyboard keyboard_;
  Encoder encoder_;
  print::Decoder decoder_;
  Enter enter_;
  Question question_;
  std::u32string prompt_;  // as shown
  std::u32string text_;    // as typed
  Escape escape_ = Escape::none;
  unsigned escape_length_ = 0;
  bool bare_ = false;     // the sequence has no parameters so far
  bool refused_ = false;  // more was typed than fits, and BEL has sounded
};

}  // namespace stationer::server
