// Lets a member choose from a list that fills the screen, where the terminal can do that.
#pragma once

#include <optional>

#include "server/protocol/chooser.h"
#include "server/session.h"
#include "server/task.h"
#include "server/terminal/terminal.h"

namespace stationer::server {

// How large the screen is, asked of the terminal itself; nothing when it does not answer as ECMA-48
// has it, or is too small.
Task<std::optional<ScreenSize>> screen_size(Session& session, Terminal& terminal);

// Shows the list until something of it is chosen, then clears the screen. A line that breaks, or is
// interrupted, is leaving.
Task<Chooser::Choice> choose(Terminal& terminal, ScreenSize size, Chooser::List list,
                             std::size_t at);

}  // namespace stationer::server
