#include "server/net/listener.h"

#include <boost/asio/steady_timer.hpp>
#include <spdlog/spdlog.h>

#include "server/net/door_address.h"
#include "server/net/socket_stream.h"

namespace stationer::server {

namespace asio = boost::asio;
using asio::ip::tcp;
using boost::system::error_code;

namespace {

// Out of descriptors or memory: try again after this.
constexpr std::chrono::milliseconds pause_after_failure{100};

}  // namespace

Listener::Listener(AsioLoop& loop, std::string name, const DoorConfig& config, Make make,
                   std::string_view full)
    : loop_(loop),
      name_(std::move(name)),
      config_(config),
      make_(std::move(make)),
      full_(full),
      acceptor_(loop.context()),
      self_(std::make_shared<Listener*>(this)) {}

Listener::~Listener() {
  *self_ = nullptr;
  error_code ignored;
  acceptor_.close(ignored);
}

fs::Result<std::unique_ptr<Listener>> Listener::open(AsioLoop& loop, std::string name,
                                                     const DoorConfig& config, Make make,
                                                     std::string_view full) {
  std::unique_ptr<Listener> listener(
      new Listener(loop, std::move(name), config, std::move(make), full));
  const auto address = door_address(listener->name_, config);
  if (!address) return address.error();
  const tcp::endpoint endpoint(*address, config.port);
  auto& acceptor = listener->acceptor_;
  error_code failed;
  acceptor.open(endpoint.protocol(), failed);
  if (!failed) acceptor.set_option(tcp::acceptor::reuse_address(true), failed);
  if (!failed) acceptor.bind(endpoint, failed);
  if (!failed) acceptor.listen(asio::socket_base::max_listen_connections, failed);
  if (failed) return cannot_open(listener->name_, config, failed);
  listener->accept();
  return listener;
}

std::string Listener::address() const {
  error_code ignored;
  return acceptor_.local_endpoint(ignored).address().to_string();
}

std::uint16_t Listener::port() const {
  error_code ignored;
  return acceptor_.local_endpoint(ignored).port();
}

void Listener::accept() {
  acceptor_.async_accept([self = self_](const error_code& failed, tcp::socket socket) {
    Listener* listener = *self;
    if (listener == nullptr || failed == asio::error::operation_aborted) return;
    if (!failed) {
      listener->admit(std::move(socket));
      listener->accept();
      return;
    }
    if (!listener->acceptor_.is_open()) return;
    auto timer =
        std::make_shared<asio::steady_timer>(listener->loop_.context(), pause_after_failure);
    timer->async_wait([self, timer](const error_code&) {
      if (*self != nullptr && (*self)->acceptor_.is_open()) (*self)->accept();
    });
  });
}

void Listener::admit(tcp::socket socket) {
  error_code failed;
  const auto local = socket.local_endpoint(failed);
  const auto peer = socket.remote_endpoint(failed);
  if (failed) return;
  if (turns_away(config_, local.address())) {
    ++turned_away_;
    return;
  }
  const std::string address = peer.address().to_string();
  const auto there = by_address_.find(address);
  if (connections_.size() >= config_.most ||
      (there != by_address_.end() && there->second >= config_.most_per_address)) {
    if (turned_away_++ == 0) {
      spdlog::warn("The {} door turns connections away: there are {} already, {} from {}.", name_,
                   connections_.size(), there == by_address_.end() ? 0 : there->second, address);
    }
    // A new connection takes so few bytes at once, or they are not worth waiting for.
    socket.non_blocking(true, failed);
    if (!failed) socket.send(asio::buffer(full_), 0, failed);
    return;
  }
  auto stream = std::make_unique<SocketStream>(SocketStream::Socket(std::move(socket)));
  const std::uint64_t number = next_++;
  ++by_address_[address];
  Held& held = connections_[number];
  held.address = address;
  held.connection = make_(std::move(stream));
  held.life = live(number, *held.connection);
  held.life.start();
}

Task<void> Listener::live(std::uint64_t number, Connection& connection) {
  try {
    co_await connection.run();
  } catch (const std::exception& bug) {
    spdlog::error("A connection at the {} door ended by a fault in the program: {}", name_,
                  bug.what());
  }
  // Not from inside: this coroutine is part of what goes.
  loop_.post([self = self_, number] {
    Listener* listener = *self;
    if (listener == nullptr) return;
    const auto found = listener->connections_.find(number);
    if (found == listener->connections_.end()) return;
    const auto address = listener->by_address_.find(found->second.address);
    if (--address->second == 0) listener->by_address_.erase(address);
    listener->connections_.erase(found);
  });
}

void Listener::close() {
  error_code ignored;
  acceptor_.close(ignored);
  for (auto& [number, held] : connections_) held.connection->stopping();
}

}  // namespace stationer::server
