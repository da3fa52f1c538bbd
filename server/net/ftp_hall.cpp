#include "server/net/ftp_hall.h"

#include <utility>

namespace stationer::server {

fs::Result<std::unique_ptr<FtpHall>> FtpHall::open(AsioLoop& loop, const FtpDoorConfig& config) {
  std::unique_ptr<FtpHall> hall(new FtpHall(loop, config));
  if (config.certificate.empty()) return hall;
  auto tls = Tls::open(config.certificate, config.key);
  if (!tls) return tls.error();
  hall->tls_ = std::move(*tls);
  return hall;
}

}  // namespace stationer::server
