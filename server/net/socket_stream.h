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
  // Hands the socket over to another kind of stream; nothing may wait.
  Socket release();

  Later<Read> read(std::optional<Time> until = std::nullopt) override;
  Later<Read> pause(Time until) override;
  void wake() override;
  void watch_urgent() override;
  Later<bool> write(std::string bytes, bool urgent_end = false) override;
  std::shared_ptr<const int> descriptor() override;
  Later<bool> writable() override;
  void end_output() override;
  void carry(bool on) override;
  void give_up_after(std::chrono::milliseconds time) override;
  const std::string& address() const override { return address_; }
  std::string own_address() const override;
  std::uint16_t port() const override { return port_; }

 private:
  struct State;
  std::shared_ptr<State> state_;
  std::string address_;
  std::uint16_t port_ = 0;
};

}  // namespace stationer::server
