// show: a text on the screen, read in pieces however long it is.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/shown.h"
#include "server/terminal/text_file.h"

namespace stationer::server {
namespace {

constexpr std::size_t piece_size = 4096;

}  // namespace

Task<void> command_show(Call call) {
  const auto path = call.session.path(call.words[0]);
  if (call.refused(path)) co_return;
  const auto content = call.session.open(*path);
  if (call.refused(content)) co_return;
  TextLines lines;
  for (std::uint64_t offset = 0;;) {
    const auto piece = co_await call.session.read(*content, offset, piece_size);
    if (call.refused(piece)) co_return;
    if (offset == 0 && piece->empty()) {
      call.terminal.say(fmt::format("{} is empty.", shown_name(call.session, *path)));
      co_return;
    }
    if (offset == 0 && !looks_like_text(*piece)) {
      call.terminal.say(
          fmt::format("{} is not a text, so it can't be shown. info tells what is known about it.",
                      shown_name(call.session, *path)));
      co_return;
    }
    offset += piece->size();
    const bool end = piece->empty() || lines.ended();
    std::string text = end ? lines.finish() : lines.feed(*piece);
    const bool more = co_await call.terminal.show(std::move(text));
    if (end || !more) co_return;
  }
}

}  // namespace stationer::server
