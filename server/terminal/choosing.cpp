#include "server/terminal/choosing.h"

#include <string>
#include <utility>

namespace stationer::server {
namespace {

// At 300 bit/s the question and its answer take less than a second.
constexpr std::chrono::seconds answer_wait{3};
constexpr std::size_t most_heard = 4096;

}  // namespace

Task<std::optional<ScreenSize>> screen_size(Session& session, Terminal& terminal) {
  const auto now = [&session] { return session.room().loop.now(); };
  if (!terminal.echoes()) co_return std::nullopt;  // what is typed would spoil the list
  const Time until = now() + answer_wait;
  terminal.open_text_wire();
  co_await terminal.put_wire(std::string(where_is_the_corner()));
  std::string heard;
  std::optional<ScreenSize> size;
  while (!size && now() < until && heard.size() < most_heard) {
    const auto more = co_await terminal.hear_wire(until);
    if (more.interrupted) break;
    heard += more.bytes;
    size = corner_in(heard);
  }
  terminal.close_wire();
  if (size && (size->rows < Chooser::least_rows || size->columns < 16)) size.reset();
  co_return size;
}

Task<Chooser::Choice> choose(Terminal& terminal, ScreenSize size, Chooser::List list,
                             std::size_t at) {
  Chooser chooser(terminal.screen(), size, std::move(list), at);
  terminal.open_text_wire();
  co_await terminal.put_wire(chooser.draw());
  std::optional<Chooser::Choice> choice;
  while (!choice) {
    const auto heard = co_await terminal.hear_wire(std::nullopt);
    if (heard.interrupted) choice = Chooser::Choice();
    for (std::string_view typed = heard.bytes; !typed.empty() && !choice;) {
      auto step = chooser.feed(typed);
      typed.remove_prefix(step.used);
      choice = step.choice;
      if (!step.send.empty()) co_await terminal.put_wire(std::move(step.send));
    }
  }
  co_await terminal.put_wire(std::string(Chooser::clear()));
  terminal.close_wire();
  co_return *choice;
}

}  // namespace stationer::server
