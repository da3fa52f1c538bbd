// The door for FTP clients: files both ways, by every rule that the terminal's commands keep.
#pragma once

#include <memory>

#include "server/config.h"
#include "server/net/asio_loop.h"
#include "server/net/connection.h"
#include "server/net/stream.h"
#include "server/net/tls.h"
#include "server/profile.h"
#include "server/room.h"

namespace stationer::server {

// What all connections of the door share.
class FtpHall {
 public:
  // Names in listings that are on their way, all together; a folder of a million is one.
  static constexpr std::size_t most_listed = 2'000'000;

  // Code::bad_input when the settings name a certificate that can't be used. `config` must stay.
  static fs::Result<std::unique_ptr<FtpHall>> open(AsioLoop& loop, const FtpDoorConfig& config);

  AsioLoop& loop() const { return loop_; }
  const FtpDoorConfig& config() const { return config_; }
  Tls* tls() const { return tls_.get(); }  // null without a certificate

 private:
  friend class FtpListing;
  FtpHall(AsioLoop& loop, const FtpDoorConfig& config) : loop_(loop), config_(config) {}

  AsioLoop& loop_;
  const FtpDoorConfig& config_;
  std::unique_ptr<Tls> tls_;
  std::size_t listed_ = 0;
};

// RFC 959 section 5.4: the reply to a connection that is not taken.
inline constexpr std::string_view ftp_is_full = "421 Too many are here. Try again in a minute.\r\n";

// `profile` must stay.
std::unique_ptr<Connection> make_ftp_connection(Room& room, FtpHall& hall, const Profile& profile,
                                                std::unique_ptr<Stream> stream);

}  // namespace stationer::server
