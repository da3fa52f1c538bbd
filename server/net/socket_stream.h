// A stream over a socket: TCP, or a local one.
#pragma once

#include <memory>
#include <string>

#include <boost/asio/generic/stream_protocol.hpp>

#include "server/net/stream.h"

namespace stationer::server {

class SocketStream final : public Stream {
 public:
  using Socket = boost::asio::generic::stream_protocol::socket;

  explicit SocketStream(Socket socket);
  ~SocketStream() override;

  Later<Read> read(std::optional<Time> until = std::nullopt) override;
  Later<Read> pause(Time until) override;
  void wake() override;
  void watch_urgent() override;
  Later<bool> write(std::string bytes, bool urgent_end = false) override;
  void end_output() override;
  const std::string& address() const override { return address_; }

 private:
  struct State;
  std::shared_ptr<State> state_;
  std::string address_;
};

}  // namespace stationer::server
