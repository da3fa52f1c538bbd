// The doors that take print jobs: LPD (RFC 1179), and raw TCP, where what a client sends until it
// closes is one job. Raw print has no standard; a connection that breaks off gives what has come,
// with a title that says so.
#pragma once

#include <memory>

#include "server/config.h"
#include "server/net/connection.h"
#include "server/net/stream.h"
#include "server/room.h"

namespace stationer::server {

std::unique_ptr<Connection> make_lpd_connection(Room& room, const LpdDoorConfig& config,
                                                std::unique_ptr<Stream> stream);
std::unique_ptr<Connection> make_raw_connection(Room& room, const RawDoorConfig& config,
                                                std::unique_ptr<Stream> stream);

}  // namespace stationer::server
