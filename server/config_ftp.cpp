#include "server/config_part.h"

namespace stationer::server {
namespace {

constexpr std::int64_t longest_idle = 1440;  // minutes

}  // namespace

fs::Status read_ftp(const toml::table& table, FtpDoorConfig& door) {
  auto read = first_failure({
      read_door(table, "door.ftp", ftp_port,
                {"guests", "idle_minutes", "certificate", "key", "needs_tls"}, door),
      take(fs::switch_setting(table, "guests", true), door.guests),
      take(fs::number_setting(table, "idle_minutes", door.idle.count(), 1, longest_idle),
           door.idle),
      take(fs::text_setting(table, "certificate", ""), door.certificate),
      take(fs::text_setting(table, "key", ""), door.key),
      take(fs::switch_setting(table, "needs_tls", false), door.needs_tls),
  });
  if (!read) return read;
  if (door.certificate.empty() != door.key.empty()) {
    return fs::wrong_setting(table, "TLS needs both a certificate and its key.");
  }
  if (door.needs_tls && door.certificate.empty()) {
    return fs::wrong_setting(*table.get("needs_tls"), "TLS needs a certificate and its key.");
  }
  return {};
}

}  // namespace stationer::server
