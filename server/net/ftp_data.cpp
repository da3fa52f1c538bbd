#include "server/net/ftp_data.h"

#include <utility>

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>
#include <sys/socket.h>
#include <unistd.h>

#include "fs/crypto.h"
#include "server/net/socket_stream.h"

namespace stationer::server {

namespace asio = boost::asio;
using asio::ip::tcp;
using boost::system::error_code;

namespace {

// Connections to a port that may wait to be looked at; who comes from elsewhere takes up a place.
constexpr int waiting_room = 4;
// RFC 6335 §6: the dynamic ports.
constexpr unsigned first_port = 49152;
constexpr unsigned last_port = 65535;
constexpr int most_tried = 100;
// Small files that one port serves, one after the other, before there is a new one: opening it
// takes a third of what such a file costs.
constexpr int most_served = 16;

// A socket that the event loop does not watch, because nobody waits for it: that would cost more
// than sending a small file does.
class Descriptor {
 public:
  Descriptor() = default;
  explicit Descriptor(int number) : number_(number) {}
  Descriptor(Descriptor&& other) noexcept : number_(std::exchange(other.number_, -1)) {}
  Descriptor& operator=(Descriptor&& other) noexcept {
    std::swap(number_, other.number_);
    return *this;
  }
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }

  bool is_open() const { return number_ >= 0; }
  int number() const { return number_; }
  int release() { return std::exchange(number_, -1); }

 private:
  int number_ = -1;
};

tcp family_of(const asio::ip::address& address) {
  return address.is_v4() ? tcp::v4() : tcp::v6();
}

asio::ip::address plain(const asio::ip::address& address) {
  if (!address.is_v6() || !address.to_v6().is_v4_mapped()) return address;
  return asio::ip::make_address_v4(asio::ip::v4_mapped, address.to_v6());
}

}  // namespace

struct FtpData::State : std::enable_shared_from_this<State> {
  State(asio::io_context& context, asio::ip::address own_, asio::ip::address peer_)
      : own(std::move(own_)), peer(std::move(peer_)), acceptor(context), socket(context) {}

  asio::ip::address own;
  asio::ip::address peer;
  Descriptor port;
  FtpEnd end;
  int served = 0;          // by this port
  tcp::acceptor acceptor;  // the same port, while somebody waits for who comes there
  tcp::socket socket;      // on its way to the client
  Descriptor came;
  std::optional<Later<bool>> waiting;
  std::unique_ptr<asio::steady_timer> timer;
  std::uint64_t turn = 0;

  // Whoever waits hears whether it happened.
  void tell(std::uint64_t of_turn, bool happened) {
    if (of_turn != turn || !waiting) return;
    ++turn;
    if (timer) timer->cancel();
    std::exchange(waiting, std::nullopt)->bring(happened);
  }
};

FtpData::FtpData(asio::io_context& context, asio::ip::address own, asio::ip::address peer)
    : state_(std::make_shared<State>(context, std::move(own), std::move(peer))) {}

FtpData::~FtpData() {
  state_->waiting.reset();
  close();
}

void FtpData::close() {
  ++state_->turn;
  if (state_->timer) state_->timer->cancel();
  error_code ignored;
  state_->acceptor.close(ignored);
  state_->socket.close(ignored);
  state_->port = Descriptor();
  state_->came = Descriptor();
}

// Left to itself the system looks for a port that no former connection lingers at, for a minute
// each, and after thousands of small files that takes it milliseconds.
fs::Result<FtpEnd> FtpData::listen() {
  state_->came = Descriptor();
  if (state_->port.is_open() && state_->served < most_served) {
    // Who has come before this was asked for came for nothing.
    while (Descriptor(::accept4(state_->port.number(), nullptr, nullptr, SOCK_CLOEXEC)).is_open()) {
    }
    return state_->end;
  }
  close();
  for (int tried = 0; tried < most_tried; ++tried) {
    const auto number =
        static_cast<std::uint16_t>(first_port + fs::random_number() % (last_port - first_port + 1));
    const tcp::endpoint at(state_->own, number);
    Descriptor port(
        ::socket(family_of(state_->own).family(), SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0));
    const int yes = 1;
    if (!port.is_open()) break;
    if (::setsockopt(port.number(), SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes) != 0 ||
        ::bind(port.number(), at.data(), static_cast<socklen_t>(at.size())) != 0 ||
        ::listen(port.number(), waiting_room) != 0) {
      continue;
    }
    state_->port = std::move(port);
    state_->end = {at.address(), number};
    state_->served = 0;
    return state_->end;
  }
  return fs::Error{fs::Code::busy, "No port could be opened for data. Try again later."};
}

// Who comes from another machine is let go.
void FtpData::take_waiting() {
  const int port =
      state_->acceptor.is_open() ? state_->acceptor.native_handle() : state_->port.number();
  while (port >= 0 && !state_->came.is_open()) {
    tcp::endpoint from;
    auto size = static_cast<socklen_t>(from.capacity());
    Descriptor next(::accept4(port, from.data(), &size, SOCK_NONBLOCK | SOCK_CLOEXEC));
    if (!next.is_open()) return;
    from.resize(size);
    if (plain(from.address()) == state_->peer) state_->came = std::move(next);
  }
}

std::optional<std::size_t> FtpData::send_now(std::string_view bytes) {
  take_waiting();
  if (!state_->came.is_open()) return std::nullopt;
  std::size_t sent = 0;
  while (sent < bytes.size()) {
    const ssize_t done = ::send(state_->came.number(), bytes.data() + sent, bytes.size() - sent,
                                MSG_NOSIGNAL | MSG_DONTWAIT);
    if (done <= 0) return sent;
    sent += static_cast<std::size_t>(done);
  }
  state_->came = Descriptor();
  ++state_->served;
  return sent;
}

Task<bool> FtpData::wait(Time until) {
  const Later<bool> later = state_->waiting.emplace();
  if (!state_->timer) {
    state_->timer = std::make_unique<asio::steady_timer>(state_->acceptor.get_executor());
  }
  state_->timer->expires_at(until);
  state_->timer->async_wait([state = state_, turn = state_->turn](const error_code& failed) {
    if (!failed) state->tell(turn, false);
  });
  co_return co_await later;
}

Task<std::unique_ptr<Stream>> FtpData::open(std::optional<FtpEnd> active, Time until) {
  if (active) {
    close();
    const tcp::endpoint to(active->address, active->port);
    error_code failed;
    state_->socket.open(to.protocol(), failed);
    // From the address that the client knows us by.
    if (!failed) state_->socket.bind({state_->own, 0}, failed);
    if (failed) co_return nullptr;
    state_->socket.async_connect(
        to, [state = state_, turn = state_->turn](const error_code& not_connected) {
          state->tell(turn, !not_connected);
        });
    const bool made = co_await wait(until);
    if (!made) {
      close();
      co_return nullptr;
    }
    co_return std::make_unique<SocketStream>(SocketStream::Socket(std::move(state_->socket)));
  }
  for (;;) {
    take_waiting();
    if (state_->came.is_open()) break;
    if (state_->port.is_open()) {
      error_code failed;
      state_->acceptor.assign(family_of(state_->own), state_->port.number(), failed);
      if (failed) co_return nullptr;
      state_->port.release();
    }
    if (!state_->acceptor.is_open()) co_return nullptr;
    state_->acceptor.async_wait(tcp::acceptor::wait_read,
                                [state = state_, turn = state_->turn](const error_code& failed) {
                                  state->tell(turn, !failed);
                                });
    const bool came = co_await wait(until);
    if (!came) {
      close();
      co_return nullptr;
    }
  }
  const int number = state_->came.release();
  SocketStream::Socket socket(state_->acceptor.get_executor());
  close();
  error_code failed;
  socket.assign(asio::generic::stream_protocol(family_of(state_->own)), number, failed);
  if (failed) {
    ::close(number);
    co_return nullptr;
  }
  co_return std::make_unique<SocketStream>(std::move(socket));
}

}  // namespace stationer::server
