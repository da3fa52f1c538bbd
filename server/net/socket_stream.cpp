#include "server/net/socket_stream.h"

#include <cstring>

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/write.hpp>
#include <fcntl.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <unistd.h>

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

namespace {

// Of TCP; nothing for other sockets.
std::optional<asio::ip::tcp::endpoint> tcp_end(const SocketStream::Socket::endpoint_type& end) {
  const int family = end.protocol().family();
  asio::ip::tcp::endpoint out;
  if ((family != AF_INET && family != AF_INET6) || end.size() > out.capacity()) return std::nullopt;
  std::memcpy(out.data(), end.data(), end.size());
  out.resize(end.size());
  return out;
}

}  // namespace

SocketStream::SocketStream(Socket socket) {
  error_code ignored;
  socket.non_blocking(true, ignored);
  if (const auto peer = tcp_end(socket.remote_endpoint(ignored))) {
    address_ = peer->address().to_string();
    port_ = peer->port();
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

SocketStream::Socket SocketStream::release() {
  return std::move(state_->device);
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

void SocketStream::carry(bool on) {
  state_->most = on ? State::most_carried : State::most_read;
}

// TCP_USER_TIMEOUT, tcp(7): also while the other end leaves no room.
void SocketStream::give_up_after(std::chrono::milliseconds time) {
  using UserTimeout = asio::detail::socket_option::integer<IPPROTO_TCP, TCP_USER_TIMEOUT>;
  error_code ignored;
  state_->device.set_option(UserTimeout(static_cast<int>(time.count())), ignored);
}

std::string SocketStream::own_address() const {
  error_code ignored;
  const auto own = tcp_end(state_->device.local_endpoint(ignored));
  return own ? own->address().to_string() : std::string();
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

std::shared_ptr<const int> SocketStream::descriptor() {
  const int copy = ::fcntl(state_->device.native_handle(), F_DUPFD_CLOEXEC, 0);
  if (copy < 0) return nullptr;
  return {new int(copy), [](const int* number) {
            ::close(*number);
            delete number;
          }};
}

Later<bool> SocketStream::writable() {
  const Later<bool> later = state_->writing.emplace();
  state_->device.async_wait(Socket::wait_write, [state = state_](const error_code& failed) {
    state->end_write(!failed);
  });
  return later;
}

void SocketStream::end_output() {
  error_code ignored;
  state_->device.shutdown(asio::socket_base::shutdown_send, ignored);
}

}  // namespace stationer::server
