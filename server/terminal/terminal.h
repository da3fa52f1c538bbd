// The screen and keyboard of one member, as commands see them: say things, ask things, wait. Below
// it is the line editor and the station's character set; above it the shell. A machine without I/O:
// whoever moves the bytes feeds what was typed and takes the output.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <utility>

#include "fs/name_style.h"
#include "server/loop.h"
#include "server/protocol/line_editor.h"
#include "server/protocol/text_out.h"
#include "server/protocol/time.h"
#include "server/task.h"

namespace stationer::server {

class Terminal {
 public:
  struct Setup {
    Screen screen;
    LineEditor::Keyboard keyboard;
    int rows = 24;            // 0: never stop between screens
    bool echo = true;         // we show what is typed
    bool seven_bits = false;  // bit 8 does not come through
    const fs::NameStyle* names = &fs::name_styles().front();
  };
  // Output waiting to be sent above which show() waits.
  static constexpr std::size_t most_waiting = 16 * 1024;
  // Typed ahead above which no more should be fed; see takes_input(). What is fed all the same is
  // kept up to most_kept, and dropped beyond.
  static constexpr std::size_t most_typed_ahead = 4096;
  static constexpr std::size_t most_kept = 32 * 1024;

  explicit Terminal(const Setup& setup);
  Terminal(const Terminal&) = delete;
  Terminal& operator=(const Terminal&) = delete;

  // ---- for whoever moves the bytes ----
  // The interrupt key, typed while nothing is asked, is meant for what is going on: it voids what
  // was typed before it. Anything else waits for its question.
  void typed(std::string_view bytes);
  void interrupt();                    // by a signal of the line, not a key
  void resize(int columns, int rows);  // 0: unknown
  void set_echo(bool we_echo);
  bool takes_input() const { return typed_.size() < most_typed_ahead; }
  bool waits_for_input() const { return (asking_ || listening_) && typed_.empty(); }
  std::string take_output();  // and tells who waits that there is room
  bool has_output() const { return !output_.empty(); }
  std::function<void()> on_progress;  // there is something to take, or room for more typing
  // Bytes are to come and go as they are, or not any more. wire_ready() is to be called once it is
  // so; where nobody does this, it always is.
  std::function<void(bool open)> on_wire;
  void wire_ready();
  // When tick() is wanted; on_deadline tells that this has changed.
  std::optional<Time> deadline() const { return deadline_; }
  void tick(Time now);
  std::function<void()> on_deadline;

  // ---- for commands ----
  // Lines of text; each call starts a line of its own.
  void say(std::string_view text);
  // The same in the middle of a question, which is then shown again with what was typed so far.
  void announce(std::string_view text);
  // What the member typed; nothing when they interrupted. Too long a line is said to be so, and
  // asked for again.
  Task<std::optional<std::string>> ask(LineEditor::Question question);
  Task<std::optional<std::string>> ask(std::string prompt);
  // Nothing of the answer is shown; if the far end shows it by itself, the member is told before.
  Task<std::optional<std::string>> ask_password(std::string prompt);
  // A line of text being typed in. One that is too long comes in parts; after a part that
  // continues, `goes_on` asks for the next one.
  Task<std::optional<LineEditor::Line>> ask_text_line(bool goes_on = false);
  Task<bool> confirm(std::string question);  // "Remove it?"; y or yes is yes

  // Like say(), but stops at each full screen and asks; false when the member has seen enough.
  Task<bool> show(std::string text);
  // A new answer to what is shown starts a new screen.
  void start_screen() {
    pager_.restart();
    screen_full_ = false;
  }

  // True once since the last call when the member pressed the interrupt key while nothing was
  // asked.
  bool take_interrupt() { return std::exchange(interrupted_, false); }

  // ---- for commands that carry files, or want each key ----
  // From open_wire() to close_wire() what is typed and what is put goes unchanged, and nothing else
  // may be said or asked. Waits no longer than `until` for the far end to agree.
  Task<void> open_wire(Time until);
  // The same for lines of text, and for keys one by one, which go at the pace and in the form of
  // everything else on the line; what is typed before and behind them is heard.
  void open_text_wire();
  void close_wire();
  struct Heard {
    std::string bytes;
    bool interrupted = false;  // by a signal of the line
  };
  // What came; nothing by `until`.
  Task<Heard> hear_wire(std::optional<Time> until);
  // Waits until there is room, if there is little.
  Task<void> put_wire(std::string bytes);
  // Text in the station's bytes, neither wrapped nor paged: for machines that record what they are
  // shown. False when it was interrupted.
  Task<bool> pour(std::string bytes);

  const Screen& screen() const { return setup_.screen; }
  int rows() const { return setup_.rows; }
  // The screen turned out to be another than was thought. Not in the middle of a question.
  void use_screen(const Screen& screen, int rows);
  bool seven_bits() const { return setup_.seven_bits; }
  int columns() const { return setup_.screen.columns; }
  // Names as a system of that style has them, as far as this screen can show them.
  fs::StationNames names(const fs::NameStyle& style) const;
  fs::StationNames names() const { return names(*setup_.names); }
  bool echoes() const { return setup_.echo; }

 private:
  void put(std::string_view bytes);
  std::string lines_of(std::string_view text);
  void heed_interrupt_key();
  void feed_editor();
  void answer(LineEditor::Outcome outcome);
  bool is_full() const { return output_.size() > most_waiting; }
  void put_question(LineEditor::Question question);
  Task<LineEditor::Outcome> hear();
  Task<bool> ask_for_more();
  Task<void> room_to_write();
  Task<void> listen(std::optional<Time> until);
  void stop_listening();

  Setup setup_;
  TextOut text_out_;
  LineEditor editor_;
  Pager pager_;
  std::string prompt_;                                     // of the last question
  LineEditor::Echo wanted_echo_ = LineEditor::Echo::full;  // of the same, where echo is ours
  std::string typed_;                                      // not yet used
  std::string output_;
  bool at_line_start_ = true;
  bool screen_full_ = false;  // ask before the next line that is shown
  bool interrupted_ = false;
  bool feeding_ = false;
  bool told_that_it_shows_ = false;
  std::optional<Later<LineEditor::Outcome>> asking_;
  std::optional<Later<bool>> draining_;
  bool wire_open_ = false;
  bool wire_is_text_ = false;
  bool wire_ready_ = false;
  std::optional<Later<bool>> listening_;  // to the wire
  std::optional<Time> deadline_;
};

}  // namespace stationer::server
