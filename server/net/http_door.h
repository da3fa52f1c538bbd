// The HTTP door: what a guest may read, for browsers and fetchers of any age. One request a
// connection.
#pragma once

#include <memory>

#include "server/config.h"
#include "server/net/connection.h"
#include "server/net/stream.h"
#include "server/room.h"

namespace stationer::server {

std::unique_ptr<Connection> make_http_connection(Room& room, const HttpDoorConfig& config,
                                                 std::unique_ptr<Stream> stream);

}  // namespace stationer::server
