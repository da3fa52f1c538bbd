#include "server/terminal/terminal.h"

#include <algorithm>

#include <fmt/format.h>

#include "fs/text.h"

namespace stationer::server {
namespace {

constexpr std::size_t longest_password = 256;
constexpr std::size_t longest_text_line = 255;

}  // namespace

Terminal::Terminal(const Setup& setup)
    : setup_(setup),
      text_out_(setup.screen),
      editor_(setup.screen, setup.keyboard),
      pager_(setup.rows) {}

// ---- bytes ----

void Terminal::typed(std::string_view bytes) {
  constexpr char interrupt_key = 0x03;
  if (!asking_ && bytes.find(interrupt_key) != std::string_view::npos) {
    // Nothing is being asked, so it is meant for what is going on; what was typed before is void.
    bytes.remove_prefix(bytes.rfind(interrupt_key) + 1);
    interrupt();
  }
  const std::size_t room = most_typed_ahead - std::min(typed_.size(), most_typed_ahead);
  typed_ += bytes.substr(0, room);
  feed_editor();
}

void Terminal::interrupt() {
  typed_.clear();
  if (asking_) {
    std::exchange(asking_, std::nullopt)->bring(LineEditor::Interrupt{});
  } else {
    interrupted_ = true;
  }
}

void Terminal::feed_editor() {
  // Who is answered may ask again before bring() returns; this loop then answers that too, instead
  // of one call inside the other for every line typed ahead.
  if (feeding_) return;
  feeding_ = true;
  while (asking_ && !typed_.empty()) {
    auto step = editor_.feed(typed_);
    typed_.erase(0, step.used);
    put(step.echo);
    if (step.outcome) std::exchange(asking_, std::nullopt)->bring(std::move(*step.outcome));
  }
  feeding_ = false;
}

void Terminal::resize(int columns, int rows) {
  if (columns > 0) setup_.screen.columns = columns;
  if (rows > 0) setup_.rows = rows;
  text_out_ = TextOut(setup_.screen);
  pager_ = Pager(setup_.rows);
}

void Terminal::set_echo(bool we_echo) {
  setup_.echo = we_echo;
  if (!we_echo) editor_.set_echo(LineEditor::Echo::none);
}

std::string Terminal::take_output() {
  std::string taken = std::exchange(output_, {});
  if (draining_) std::exchange(draining_, std::nullopt)->bring(true);
  return taken;
}

void Terminal::put(std::string_view bytes) {
  if (bytes.empty()) return;
  output_ += bytes;
  if (on_output) on_output();
}

// ---- commands ----

void Terminal::say(std::string_view text) {
  std::string bytes;
  if (!at_line_start_) bytes += text_out_.ending();
  for (const auto& line : text_out_.lines(text)) {
    bytes += line;
    bytes += text_out_.ending();
  }
  at_line_start_ = true;
  put(bytes);
}

void Terminal::announce(std::string_view text) {
  constexpr std::string_view show_line_again_key = "\x12";
  say(text);
  if (!asking_) return;
  put(editor_.feed(show_line_again_key).echo);
  at_line_start_ = false;
}

Task<LineEditor::Outcome> Terminal::ask_once(LineEditor::Question question) {
  if (!setup_.echo) question.echo = LineEditor::Echo::none;
  put(editor_.ask(std::move(question)));
  at_line_start_ = false;
  asking_.emplace();
  const auto answer = *asking_;
  // What was typed ahead may be the answer already.
  feed_editor();
  auto outcome = co_await answer;
  at_line_start_ = true;
  pager_.restart();
  co_return outcome;
}

Task<std::optional<std::string>> Terminal::ask(LineEditor::Question question) {
  for (;;) {
    auto outcome = co_await ask_once(question);
    if (auto* line = std::get_if<LineEditor::Line>(&outcome)) co_return std::move(line->text);
    if (std::holds_alternative<LineEditor::Interrupt>(outcome)) {
      put(text_out_.ending());
      co_return std::nullopt;
    }
    say(fmt::format("That line is too long: at most {} characters.", question.longest));
  }
}

Task<std::optional<std::string>> Terminal::ask(std::string prompt) {
  LineEditor::Question question;
  question.prompt = std::move(prompt);
  co_return co_await ask(std::move(question));
}

Task<std::optional<std::string>> Terminal::ask_password(std::string prompt) {
  LineEditor::Question question;
  question.prompt = std::move(prompt);
  question.echo = LineEditor::Echo::hidden;
  question.longest = longest_password;
  co_return co_await ask(std::move(question));
}

Task<std::optional<LineEditor::Line>> Terminal::ask_text_line() {
  LineEditor::Question question;
  question.mode = LineEditor::Mode::text;
  question.longest = longest_text_line;
  auto outcome = co_await ask_once(std::move(question));
  if (auto* line = std::get_if<LineEditor::Line>(&outcome)) co_return std::move(*line);
  co_return std::nullopt;
}

Task<bool> Terminal::confirm(std::string question) {
  const auto answer = co_await ask(question + " (y/n) ");
  if (!answer) co_return false;
  const std::string lower = fs::ascii_lower(*answer);
  co_return lower == "y" || lower == "yes";
}

Task<bool> Terminal::show(std::string text) {
  for (const auto& line : text_out_.lines(text)) {
    if (take_interrupt()) co_return false;
    if (!at_line_start_) put(text_out_.ending());
    put(line);
    put(text_out_.ending());
    at_line_start_ = true;
    if (is_full()) co_await room_to_write();
    if (!pager_.line()) continue;
    const auto answer = co_await ask("Enter for more, q to stop ");
    if (!answer || (!answer->empty() && (answer->front() == 'q' || answer->front() == 'Q'))) {
      co_return false;
    }
  }
  co_return true;
}

Task<void> Terminal::room_to_write() {
  while (is_full()) {
    draining_.emplace();
    const auto drained = *draining_;
    co_await drained;
  }
}

}  // namespace stationer::server
