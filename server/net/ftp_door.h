// The door for FTP clients: files both ways, by every rule that the terminal's commands keep.
#pragma once

#include <memory>
#include <string_view>

#include "server/net/connection.h"
#include "server/net/ftp_hall.h"
#include "server/net/stream.h"
#include "server/profile.h"
#include "server/room.h"

namespace stationer::server {

// RFC 959 section 5.4: the reply to a connection that is not taken.
inline constexpr std::string_view ftp_is_full = "421 Too many are here. Try again in a minute.\r\n";

// `profile` must stay.
std::unique_ptr<Connection> make_ftp_connection(Room& room, FtpHall& hall, const Profile& profile,
                                                std::unique_ptr<Stream> stream);

}  // namespace stationer::server
