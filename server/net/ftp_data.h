// The data connections of one FTP session, one at a time: who comes to a port that was opened for
// it, or to the client's own. Only ever with the machine that the control connection is with (RFC
// 2577 §4).
#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <string_view>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/address.hpp>

#include "fs/result.h"
#include "server/net/stream.h"
#include "server/protocol/ftp_command.h"
#include "server/task.h"

namespace stationer::server {

class FtpData {
 public:
  // `own` and `peer`: the two ends of the control connection.
  FtpData(boost::asio::io_context& context, boost::asio::ip::address own,
          boost::asio::ip::address peer);
  ~FtpData();

  // Opens a port at the address that the client knows us by, a random one that nobody can foretell
  // (RFC 2577 §8). A former one is closed, or serves a few times more after nothing but small
  // files; whoever came to it before is let go.
  fs::Result<FtpEnd> listen();

  // If the client has come to the port already: sends as much of `bytes` as goes at once, and tells
  // how much that was. When it is all, the connection is closed with it.
  std::optional<std::size_t> send_now(std::string_view bytes);

  // The data connection, from the client at our port, or to theirs; nothing when there is none by
  // `until`. The port is closed.
  Task<std::unique_ptr<Stream>> open(std::optional<FtpEnd> active, Time until);

  void close();

 private:
  struct State;
  void take_waiting();
  Task<bool> wait(Time until);

  std::shared_ptr<State> state_;
};

}  // namespace stationer::server
