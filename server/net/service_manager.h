// What the service tells the manager that started it, by the datagrams that sd_notify(3) documents:
// that it is ready, how it is, that it is alive, and that it stops. Says nothing to anybody when no
// manager asked for it.
//
// By hand, because these lines do all that is needed of libsystemd, which loads four more libraries
// into every process of ours.
#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

#include <boost/asio/local/datagram_protocol.hpp>

#include "server/net/asio_loop.h"

namespace stationer::server {

// What a manager sets in the environment.
struct ManagerWishes {
  std::string socket;  // a path, or a name behind an @; empty: nobody listens
  // How long the service may be silent before it is taken for dead.
  std::optional<std::chrono::microseconds> watchdog;

  // $NOTIFY_SOCKET, $WATCHDOG_USEC and $WATCHDOG_PID, which are taken out of it: programs that are
  // started from here don't speak for us.
  static ManagerWishes from_environment();
};

class ServiceManager {
 public:
  ServiceManager(AsioLoop& loop, ManagerWishes wishes);

  // "READY=1"; several with a line end between. Never waits; what can't be said is lost.
  void say(std::string_view state);
  void status(std::string_view sentence);
  std::optional<std::chrono::microseconds> watchdog() const { return wishes_.watchdog; }

 private:
  const ManagerWishes wishes_;
  boost::asio::local::datagram_protocol::socket socket_;
};

}  // namespace stationer::server
