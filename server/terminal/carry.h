// Lets a transfer machine and a station talk over a terminal's line, with the files of a cargo.
#pragma once

#include <cstdint>

#include "server/protocol/transfer.h"
#include "server/task.h"
#include "server/terminal/cargo.h"
#include "server/terminal/terminal.h"

namespace stationer::server {

// What goes over the line: bytes as they are, or lines of text at the line's own pace.
enum class Wire : std::uint8_t { bytes, text };

// Returns when it is over, one way or the other, and the line is for people again. An interrupt of
// the line, or who is gone, ends it; nothing is half there then.
Task<Transfer::Outcome> carry(Session& session, Terminal& terminal, Transfer& transfer,
                              Cargo& cargo, Wire wire = Wire::bytes);

}  // namespace stationer::server
