// extend: somebody may type nothing for longer than others.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/minutes.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

constexpr std::chrono::minutes longest{24 * 60};

}  // namespace

Task<void> command_extend(Call call) {
  const auto how_long = minutes_of(call.words[1], longest);
  if (call.refused(how_long)) co_return;
  const auto extended = call.session.extend(call.words[0], *how_long);
  if (call.refused(extended)) co_return;
  call.terminal.say(fmt::format("{} is not signed off for {}, typing or not.", call.words[0],
                                counted(static_cast<std::uint64_t>(how_long->count()), "minute")));
}

}  // namespace stationer::server
