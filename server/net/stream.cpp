#include "server/net/stream.h"

#include <array>
#include <cstring>

#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/cancellation_signal.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/write.hpp>
#include <poll.h>

namespace stationer::server {

namespace asio = boost::asio;
using boost::system::error_code;

// Kept alive by the handlers that wait for the socket. Whoever waits is found in `reading` and
// `writing`; when the stream is let go, nobody is.
struct Stream::State : std::enable_shared_from_this<Stream::State> {
  explicit State(Socket from) : socket(std::move(from)) {}

  Socket socket;
  bool watches_urgent = false;
  std::optional<Later<Read>> reading;
  std::uint64_t read_turn = 0;  // so that what a former read started can't end a later one
  asio::cancellation_signal stop_waiting;
  std::unique_ptr<asio::steady_timer> timer;
  std::optional<Later<bool>> writing;
  std::string output;

  void wait_for_bytes() {
    socket.async_wait(Socket::wait_read,
                      asio::bind_cancellation_slot(
                          stop_waiting.slot(),
                          [self = shared_from_this(), turn = read_turn](const error_code& failed) {
                            if (turn != self->read_turn || !self->reading) return;
                            if (failed) return self->end_read({{}, Read::End::broken, false});
                            self->read_now();
                          }));
  }

  void wait_until(Time until) {
    if (!timer) timer = std::make_unique<asio::steady_timer>(socket.get_executor());
    timer->expires_at(until);
    timer->async_wait([self = shared_from_this(), turn = read_turn](const error_code& failed) {
      if (!failed && turn == self->read_turn) self->give_up(Read::End::deadline);
    });
  }

  void give_up(Read::End why) {
    if (!reading) return;
    stop_waiting.emit(asio::cancellation_type::all);
    end_read({{}, why, false});
  }

  void read_now() {
    // One buffer for all connections of a thread: what came is copied out before the next read.
    static thread_local std::array<char, most_read> buffer;
    Read read;
    read.urgent = watches_urgent && has_urgent();
    error_code failed;
    const std::size_t got = socket.read_some(asio::buffer(buffer), failed);
    if (failed == asio::error::would_block || failed == asio::error::try_again)
      return wait_for_bytes();
    if (failed == asio::error::eof) {
      read.end = Read::End::orderly;
    } else if (failed) {
      read.end = Read::End::broken;
    } else {
      read.bytes.assign(buffer.data(), got);
    }
    end_read(std::move(read));
  }

  bool has_urgent() {
    pollfd query{socket.native_handle(), POLLPRI, 0};
    return ::poll(&query, 1, 0) == 1 && (query.revents & POLLPRI) != 0;
  }

  void end_write(bool done) {
    if (writing) std::exchange(writing, std::nullopt)->bring(done);
  }

  void end_read(Read read) {
    ++read_turn;
    if (timer) timer->cancel();
    std::exchange(reading, std::nullopt)->bring(std::move(read));
  }
};

Stream::Stream(Socket socket) {
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

Stream::~Stream() {
  ++state_->read_turn;
  state_->reading.reset();
  state_->writing.reset();
  if (state_->timer) state_->timer->cancel();
  error_code ignored;
  state_->socket.close(ignored);
}

Stream::Socket& Stream::socket() {
  return state_->socket;
}

Later<Stream::Read> Stream::read(std::optional<Time> until) {
  const Later<Read> later = state_->reading.emplace();
  if (until) state_->wait_until(*until);
  state_->wait_for_bytes();
  return later;
}

Later<Stream::Read> Stream::pause(Time until) {
  const Later<Read> later = state_->reading.emplace();
  state_->wait_until(until);
  return later;
}

void Stream::wake() {
  state_->give_up(Read::End::woken);
}

void Stream::watch_urgent() {
  error_code ignored;
  state_->socket.set_option(asio::socket_base::out_of_band_inline(true), ignored);
  state_->watches_urgent = true;
}

Later<bool> Stream::write(std::string bytes, bool urgent_end) {
  const Later<bool> later = state_->writing.emplace();
  state_->output = std::move(bytes);
  const std::size_t plain = state_->output.size() - (urgent_end ? 1 : 0);
  asio::async_write(state_->socket, asio::buffer(state_->output.data(), plain),
                    [state = state_, plain, urgent_end](const error_code& failed, std::size_t) {
                      if (failed || !urgent_end) return state->end_write(!failed);
                      state->socket.async_send(
                          asio::buffer(state->output.data() + plain, 1),
                          Socket::message_out_of_band,
                          [state](const error_code& now, std::size_t) { state->end_write(!now); });
                    });
  return later;
}

void Stream::end_output() {
  error_code ignored;
  state_->socket.shutdown(asio::socket_base::shutdown_send, ignored);
}

}  // namespace stationer::server
