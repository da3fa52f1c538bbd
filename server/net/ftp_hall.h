// What all connections of the FTP door share.
#pragma once

#include <cstddef>
#include <memory>

#include "fs/result.h"
#include "server/config.h"
#include "server/net/asio_loop.h"
#include "server/net/tls.h"

namespace stationer::server {

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
  friend class FtpNames;
  FtpHall(AsioLoop& loop, const FtpDoorConfig& config) : loop_(loop), config_(config) {}

  AsioLoop& loop_;
  const FtpDoorConfig& config_;
  std::unique_ptr<Tls> tls_;
  std::size_t listed_ = 0;
};

}  // namespace stationer::server
