// The end of a connection after our last word.
#pragma once

#include "server/net/stream.h"
#include "server/task.h"

namespace stationer::server {

// Throws away what still comes in, until the far end goes or `until`. Input that nobody reads would
// make the closing a reset, which can overtake what we sent.
Task<void> discard_input(Stream& stream, Time until);

}  // namespace stationer::server
