#include "server/terminal/plain.h"

#include <fmt/format.h>

#include "server/terminal/shown.h"
#include "server/terminal/station_text.h"
#include "server/terminal/text_file.h"

namespace stationer::server {
namespace {

constexpr std::size_t piece_size = 4096;

}  // namespace

Task<void> send_plain(Call& call, const fs::Path& file) {
  const auto content = call.session.open(file);
  if (call.refused(content)) co_return;
  auto piece = co_await call.session.read(*content, 0, piece_size);
  if (call.refused(piece)) co_return;
  const std::string name = shown_name(call.session, file);
  if (!looks_like_text(*piece)) {
    call.terminal.say(fmt::format("{} is not a text, so it can't go plainly.", name));
    co_return;
  }
  const auto ready = co_await call.terminal.ask("Have your machine record, then press Enter.");
  if (!ready) co_return;
  TextToStation text(call.terminal.screen(), call.terminal.screen().ending);
  bool whole = true;
  for (std::uint64_t offset = 0; whole && !piece->empty();) {
    whole = co_await call.terminal.pour(text.feed(*piece));
    offset += piece->size();
    piece = co_await call.session.read(*content, offset, piece_size);
    if (call.refused(piece)) co_return;
  }
  if (whole) whole = co_await call.terminal.pour(text.finish());
  static_cast<void>(co_await call.terminal.ask("Press Enter when it has stopped recording."));
  call.terminal.say(whole ? fmt::format("{} was sent.", name)
                          : fmt::format("{} was not sent to its end.", name));
}

}  // namespace stationer::server
