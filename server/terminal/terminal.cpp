#include "server/terminal/terminal.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/text.h"
#include "server/protocol/substitute.h"

namespace stationer::server {
namespace {

constexpr std::size_t longest_password = 256;
constexpr std::size_t longest_text_line = 255;
constexpr unsigned char interrupt_key = 0x03;
constexpr std::string_view show_again_key = "\x12";
constexpr int narrow = 40;  // columns below which the longer prompts don't fit

}  // namespace

Terminal::Terminal(const Setup& setup)
    : setup_(setup),
      text_out_(setup.screen),
      editor_(setup.screen, setup.keyboard),
      pager_(setup.rows) {}

// ---- bytes ----

void Terminal::typed(std::string_view bytes) {
  typed_ += bytes.substr(0, most_kept - std::min(typed_.size(), most_kept));
  if (wire_open_) return stop_listening();
  heed_interrupt_key();
  feed_editor();
}

void Terminal::interrupt() {
  typed_.clear();
  if (wire_open_) {
    interrupted_ = true;
    return stop_listening();
  }
  if (asking_) {
    put(text_out_.ending());
    return answer(LineEditor::Interrupt{});
  }
  interrupted_ = true;
  if (draining_) std::exchange(draining_, std::nullopt)->bring(true);
}

void Terminal::heed_interrupt_key() {
  if (asking_) return;  // then it is for the editor, in its turn
  const unsigned meant = setup_.keyboard.seven_bits ? 0x7F : 0xFF;
  const auto last = std::find_if(typed_.rbegin(), typed_.rend(), [&](char c) {
    return (static_cast<unsigned char>(c) & meant) == interrupt_key;
  });
  if (last == typed_.rend()) return;
  std::string after(last.base(), typed_.end());
  interrupt();
  typed_ = std::move(after);
}

void Terminal::answer(LineEditor::Outcome outcome) {
  at_line_start_ = true;
  start_screen();
  std::exchange(asking_, std::nullopt)->bring(std::move(outcome));
}

void Terminal::feed_editor() {
  // Who is answered may ask again before bring() returns; this loop then answers that too, instead
  // of one call inside the other for every line typed ahead.
  if (feeding_) return;
  feeding_ = true;
  const bool some = asking_ && !typed_.empty();
  while (asking_ && !typed_.empty()) {
    auto step = editor_.feed(typed_);
    typed_.erase(0, step.used);
    put(step.echo);
    if (!step.outcome) continue;
    // Enter moves the cursor at a far end that shows its own typing; an interrupt does not.
    if (!setup_.echo && std::holds_alternative<LineEditor::Interrupt>(*step.outcome)) {
      put(text_out_.ending());
    }
    answer(std::move(*step.outcome));
    heed_interrupt_key();
  }
  feeding_ = false;
  // What is taken need not be shown.
  if (some && on_progress) on_progress();
}

void Terminal::resize(int columns, int rows) {
  if (columns > 0) setup_.screen.columns = columns;
  if (rows > 0) setup_.rows = rows;
  text_out_ = TextOut(setup_.screen);
  pager_ = Pager(setup_.rows);
  screen_full_ = false;
}

void Terminal::use_screen(const Screen& screen, int rows) {
  setup_.screen = screen;
  setup_.rows = rows;
  editor_ = LineEditor(setup_.screen, setup_.keyboard);
  resize(0, 0);
}

void Terminal::set_echo(bool we_echo) {
  setup_.echo = we_echo;
  editor_.set_echo(we_echo ? wanted_echo_ : LineEditor::Echo::none);
}

std::string Terminal::take_output() {
  std::string taken = std::exchange(output_, {});
  if (draining_) std::exchange(draining_, std::nullopt)->bring(true);
  return taken;
}

void Terminal::put(std::string_view bytes) {
  if (bytes.empty()) return;
  output_ += bytes;
  if (on_progress) on_progress();
}

void Terminal::wire_ready() {
  wire_ready_ = true;
  stop_listening();
}

void Terminal::tick(Time now) {
  if (deadline_ && now >= *deadline_) stop_listening();
}

void Terminal::stop_listening() {
  deadline_.reset();
  if (listening_) std::exchange(listening_, std::nullopt)->bring(true);
}

// ---- carrying files ----

Task<void> Terminal::listen(std::optional<Time> until) {
  deadline_ = until;
  listening_.emplace();
  const auto heard = *listening_;
  if (on_deadline) on_deadline();
  co_await heard;
}

Task<void> Terminal::open_wire(Time until) {
  typed_.clear();
  wire_open_ = true;
  wire_ready_ = !on_wire;
  if (on_wire) on_wire(true);
  if (!wire_ready_) co_await listen(until);
}

void Terminal::open_text_wire() {
  wire_open_ = wire_ready_ = wire_is_text_ = true;
}

void Terminal::close_wire() {
  wire_open_ = false;
  at_line_start_ = false;
  if (std::exchange(wire_is_text_, false)) return;
  typed_.clear();
  if (on_wire) on_wire(false);
}

Task<Terminal::Heard> Terminal::hear_wire(std::optional<Time> until) {
  if (typed_.empty() && !interrupted_) co_await listen(until);
  Heard heard{std::exchange(typed_, {}), take_interrupt()};
  if (on_progress) on_progress();
  co_return heard;
}

Task<void> Terminal::put_wire(std::string bytes) {
  put(bytes);
  co_await room_to_write();
}

Task<bool> Terminal::pour(std::string bytes) {
  if (take_interrupt()) co_return false;
  co_await put_wire(std::move(bytes));
  co_return !take_interrupt();
}

// ---- commands ----

fs::StationNames Terminal::names(const fs::NameStyle& style) const {
  return fs::StationNames(
      style,
      [encoder = text_out_.encoder()](char32_t c) {
        const char32_t shown = encoder.shown(c);
        return shown == c || shown == capital(c);
      },
      setup_.screen.capitals);
}

std::string Terminal::lines_of(std::string_view text) {
  std::string bytes;
  if (!at_line_start_) bytes += text_out_.ending();
  at_line_start_ = true;
  for (const auto& line : text_out_.lines(text)) {
    bytes += line;
    bytes += text_out_.ending();
  }
  return bytes;
}

void Terminal::say(std::string_view text) {
  put(lines_of(text));
}

void Terminal::announce(std::string_view text) {
  if (!asking_) return say(text);
  std::string bytes = lines_of(text);
  if (setup_.echo) {
    // The editor shows the question again on a line of its own.
    bytes.resize(bytes.size() - text_out_.ending().size());
    bytes += editor_.feed(show_again_key).echo;
  } else {
    bytes += text_out_.text(prompt_);
  }
  put(bytes);
  at_line_start_ = false;
}

void Terminal::put_question(LineEditor::Question question) {
  wanted_echo_ = question.echo;
  if (!setup_.echo) question.echo = LineEditor::Echo::none;
  prompt_ = question.prompt;
  put(editor_.ask(std::move(question)));
}

Task<LineEditor::Outcome> Terminal::hear() {
  at_line_start_ = false;
  asking_.emplace();
  const auto answer = *asking_;
  // What was typed ahead may be the answer already.
  feed_editor();
  co_return co_await answer;
}

Task<std::optional<std::string>> Terminal::ask(LineEditor::Question question) {
  for (;;) {
    put_question(question);
    auto outcome = co_await hear();
    if (auto* line = std::get_if<LineEditor::Line>(&outcome)) co_return std::move(line->text);
    if (std::holds_alternative<LineEditor::Interrupt>(outcome)) co_return std::nullopt;
    say(fmt::format("That line is too long: at most {} characters.", question.longest));
  }
}

Task<std::optional<std::string>> Terminal::ask(std::string prompt) {
  LineEditor::Question question;
  question.prompt = std::move(prompt);
  co_return co_await ask(std::move(question));
}

Task<std::optional<std::string>> Terminal::ask_password(std::string prompt) {
  if (!setup_.echo && !std::exchange(told_that_it_shows_, true)) {
    say("Mind: what you type next can be seen.");
  }
  LineEditor::Question question;
  question.prompt = std::move(prompt);
  question.echo = LineEditor::Echo::hidden;
  question.longest = longest_password;
  co_return co_await ask(std::move(question));
}

Task<std::optional<LineEditor::Line>> Terminal::ask_text_line(bool goes_on) {
  if (!goes_on) {
    LineEditor::Question question;
    question.mode = LineEditor::Mode::text;
    question.longest = longest_text_line;
    put_question(std::move(question));
  }
  auto outcome = co_await hear();
  if (auto* line = std::get_if<LineEditor::Line>(&outcome)) co_return std::move(*line);
  co_return std::nullopt;
}

Task<bool> Terminal::confirm(std::string question) {
  constexpr std::string_view choice = "(y/n) ";
  std::string prompt = question + ' ' + std::string(choice);
  if (fs::characters(prompt) >= static_cast<std::size_t>(columns())) {
    // A prompt is not wrapped at words; what is longer than a line is said before it.
    say(question);
    prompt = choice;
  }
  const auto answer = co_await ask(std::move(prompt));
  if (!answer) co_return false;
  const std::string lower = fs::ascii_lower(*answer);
  co_return lower == "y" || lower == "yes";
}

Task<bool> Terminal::show(std::string text) {
  for (const auto& line : text_out_.lines(text)) {
    if (take_interrupt()) {
      // What is still to be sent is what the member wants to be rid of.
      output_.clear();
      at_line_start_ = false;
      co_return false;
    }
    if (screen_full_) {
      const bool more = co_await ask_for_more();
      if (!more) co_return false;
    }
    if (!at_line_start_) put(text_out_.ending());
    at_line_start_ = true;
    put(line + std::string(text_out_.ending()));
    screen_full_ = pager_.line();
    if (is_full()) co_await room_to_write();
  }
  co_return true;
}

Task<bool> Terminal::ask_for_more() {
  const auto answer =
      co_await ask(columns() < narrow ? "More? (y/n) " : "More? Enter goes on, n stops: ");
  if (!answer) co_return false;
  const std::string lower = fs::ascii_lower(*answer);
  co_return lower != "n" && lower != "no" && lower != "q";
}

Task<void> Terminal::room_to_write() {
  while (is_full() && !interrupted_) {
    draining_.emplace();
    const auto drained = *draining_;
    co_await drained;
  }
}

}  // namespace stationer::server
