// The HTTP door: what a guest may read, for browsers and fetchers of any age. One request a
// connection.
#pragma once

#include <memory>
#include <string_view>

#include "server/config.h"
#include "server/net/connection.h"
#include "server/net/stream.h"
#include "server/room.h"

namespace stationer::server {

// RFC 1945 section 9.5.
inline constexpr std::string_view http_is_full =
    "HTTP/1.0 503 Service Unavailable\r\nContent-Type: text/plain\r\n\r\n"
    "Too many are here. Try again in a minute.\r\n";

std::unique_ptr<Connection> make_http_connection(Room& room, const HttpDoorConfig& config,
                                                 std::unique_ptr<Stream> stream);

}  // namespace stationer::server
