// The control socket: JSON-RPC lines over a Unix socket in the volume, for the keeper's program.
// Whoever connects must be the user the service runs as, or root: the kernel tells (SO_PEERCRED).
#pragma once

#include <cstdint>
#include <map>
#include <memory>
#include <string>

#include <boost/asio/local/stream_protocol.hpp>

#include "fs/host_files.h"
#include "server/control/control.h"
#include "server/net/asio_loop.h"
#include "server/net/stream.h"
#include "server/task.h"

namespace stationer::server {

class ControlDoor {
 public:
  static constexpr std::size_t most_connections = 32;

  // Opens the socket "control" in `directory`, replacing one that a former run left. The volume's
  // lock must be held, so that there is no other service to take it from.
  static fs::Result<std::unique_ptr<ControlDoor>> open(AsioLoop& loop, const std::string& directory,
                                                       ControlContext& context);
  ~ControlDoor();
  void close();

 private:
  struct Held;
  ControlDoor(AsioLoop& loop, fs::OutsideFolder folder, ControlContext& context);
  void accept();
  void admit(boost::asio::local::stream_protocol::socket socket);
  Task<void> live(std::uint64_t number, Held& held);

  AsioLoop& loop_;
  fs::OutsideFolder folder_;
  ControlContext& context_;
  boost::asio::local::stream_protocol::acceptor acceptor_;
  std::shared_ptr<ControlDoor*> self_;
  std::map<std::uint64_t, std::unique_ptr<Held>> connections_;
  std::uint64_t next_ = 1;
};

}  // namespace stationer::server
