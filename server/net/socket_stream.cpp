#include "server/net/socket_stream.h"

#include <cstring>

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/write.hpp>
#include <poll.h>

#include "server/net/reading.h"

namespace stationer::server {

namespace asio = boost::asio;
using boost::system::error_code;

struct SocketStream::State final : Reading<Socket> {
  using Reading::Reading;

  bool watches_urgent = false;
  std::optional<Later<bool>> writing;
  std::string output;

  void end_write(bool done) {
    if (writing) std::exchange(writing, std::nullopt)->bring(done);
  }

 private:
  bool has_urgent() override {
    if (!watches_urgent) return false;
    pollfd query{device.native_handle(), POLLPRI, 0};
    return ::poll(&query, 1, 0) == 1 && (query.revents & POLLPRI) != 0;
  }
};

SocketStream::SocketStream(Socket socket) {
  error_code ignored;
  socket.non_blocking(true, ignored);
  const auto peer = socket.remote_endpoint(ignored);
  const int family = peer.protocol().family();
  if (family == AF_INET || family == AF_INET6) {
    asio::ip::tcp::endpoint endpoint;
    if (peer.size() <= endpoint.capacity()) {
      std::memcpy(endpoint.data(), peer.data(), peer.size());
      endpoint.resize(peer.size());
      address_ = endpoint.address().to_string();
    }
    // A machine that was switched off without a word is noticed within some minutes.
    socket.set_option(asio::socket_base::keep_alive(true), ignored);
    socket.set_option(asio::ip::tcp::no_delay(true), ignored);
  }
  state_ = std::make_shared<State>(std::move(socket));
}

SocketStream::~SocketStream() {
  state_->writing.reset();
  state_->let_go();
}

Later<Stream::Read> SocketStream::read(std::optional<Time> until) {
  return state_->read(until);
}

Later<Stream::Read> SocketStream::pause(Time until) {
  return state_->pause(until);
}

void SocketStream::wake() {
  state_->give_up(Read::End::woken);
}

void SocketStream::watch_urgent() {
  error_code ignored;
  state_->device.set_option(asio::socket_base::out_of_band_inline(true), ignored);
  state_->watches_urgent = true;
}

Later<bool> SocketStream::write(std::string bytes, bool urgent_end) {
  const Later<bool> later = state_->writing.emplace();
  state_->output = std::move(bytes);
  const std::size_t plain = state_->output.size() - (urgent_end ? 1 : 0);
  asio::async_write(state_->device, asio::buffer(state_->output.data(), plain),
                    [state = state_, plain, urgent_end](const error_code& failed, std::size_t) {
                      if (failed || !urgent_end) return state->end_write(!failed);
                      state->device.async_send(
                          asio::buffer(state->output.data() + plain, 1),
                          Socket::message_out_of_band,
                          [state](const error_code& now, std::size_t) { state->end_write(!now); });
                    });
  return later;
}

void SocketStream::end_output() {
  error_code ignored;
  state_->device.shutdown(asio::socket_base::shutdown_send, ignored);
}

}  // namespace stationer::server
