// The terminal door: Telnet and plain TCP, told apart (protocol/dialect.h), a session and a shell.
#pragma once

#include <memory>
#include <string_view>

#include "server/config.h"
#include "server/net/connection.h"
#include "server/net/stream.h"
#include "server/room.h"

namespace stationer::server {

inline constexpr std::string_view terminal_is_full =
    "Too many are here. Try again in a minute.\r\n";

std::unique_ptr<Connection> make_terminal_connection(Room& room, const TerminalConfig& config,
                                                     std::unique_ptr<Stream> stream);

}  // namespace stationer::server
