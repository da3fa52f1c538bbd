// The screen and keyboard of one member, as commands see them: say things, ask things, wait. Below
// it is the line editor and the station's character set; above it the shell. A machine without I/O:
// whoever moves the bytes feeds what was typed and takes the output.
#pragma once

#include <deque>
#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "server/loop.h"
#include "server/protocol/line_editor.h"
#include "server/protocol/text_out.h"
#include "server/task.h"

namespace stationer::server {

class Terminal {
 public:
  struct Setup {
    Screen screen;
    LineEditor::Keyboard keyboard;
    int rows = 24;     // 0: never stop between screens
    bool echo = true;  // we show what is typed
  };
  // Output waiting to be sent above which commands are asked to wait; see room_to_write().
  static constexpr std::size_t most_waiting = 16 * 1024;
  // Typed ahead beyond this is dropped.
  static constexpr std::size_t most_typed_ahead = 4096;

  explicit Terminal(const Setup& setup);

  // ---- for whoever moves the bytes ----
  void typed(std::string_view bytes);
  void interrupt();                    // by a signal of the line, not a key
  void resize(int columns, int rows);  // 0: unknown
  void set_echo(bool we_echo);
  bool takes_input() const { return typed_.size() < most_typed_ahead; }
  bool waits_for_input() const { return asking_ && typed_.empty(); }
  std::string take_output();  // and tells who waits that there is room
  bool has_output() const { return !output_.empty(); }
  std::function<void()> on_output;  // there is something to take

  // ---- for commands ----
  // Lines of text; each call starts a line of its own.
  void say(std::string_view text);
  // The same in the middle of a question, which is then shown again with what was typed so far.
  void announce(std::string_view text);
  void say_blank() { say(""); }
  // What the member typed; nothing when they interrupted. Too long a line is said to be so, and
  // asked for again.
  Task<std::optional<std::string>> ask(LineEditor::Question question);
  Task<std::optional<std::string>> ask(std::string prompt);
  Task<std::optional<std::string>> ask_password(std::string prompt);
  // A line of text being typed in, and whether it goes on in the next one.
  Task<std::optional<LineEditor::Line>> ask_text_line();
  Task<bool> confirm(std::string question);  // "Remove it?"; y or yes is yes

  // Like say(), but stops at each full screen and asks; false when the member has seen enough.
  Task<bool> show(std::string text);
  // A new answer to what is shown starts a new screen.
  void start_screen() { pager_.restart(); }

  // Waits until most of what was said has been sent. For those who say a lot.
  bool is_full() const { return output_.size() > most_waiting; }
  Task<void> room_to_write();
  // True once since the last call when the member pressed the interrupt key while nothing was
  // asked.
  bool take_interrupt() { return std::exchange(interrupted_, false); }

  int columns() const { return setup_.screen.columns; }
  bool echoes() const { return setup_.echo; }

 private:
  void put(std::string_view bytes);
  void feed_editor();
  Task<LineEditor::Outcome> ask_once(LineEditor::Question question);

  Setup setup_;
  TextOut text_out_;
  LineEditor editor_;
  Pager pager_;
  std::string typed_;  // not yet used
  std::string output_;
  bool at_line_start_ = true;
  bool interrupted_ = false;
  bool feeding_ = false;
  std::optional<Later<LineEditor::Outcome>> asking_;
  std::optional<Later<bool>> draining_;
};

}  // namespace stationer::server
