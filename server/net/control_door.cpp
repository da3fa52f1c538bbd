#include "server/net/control_door.h"

#include <deque>
#include <optional>
#include <utility>

#include <fmt/format.h>
#include <spdlog/spdlog.h>
#include <sys/socket.h>

#include "server/net/socket_stream.h"

namespace stationer::server {

namespace asio = boost::asio;
using asio::local::stream_protocol;
using boost::system::error_code;

namespace {

constexpr const char* socket_name = "control";

// The user at the other end, as the kernel knows it.
std::optional<ucred> peer_of(int socket) {
  ucred peer{};
  socklen_t size = sizeof peer;
  if (::getsockopt(socket, SOL_SOCKET, SO_PEERCRED, &peer, &size) != 0) return std::nullopt;
  return peer;
}

// The user that the service runs as, and root, may control it.
bool may_control(const ucred& peer) {
  return peer.uid == 0 || peer.uid == fs::own_user();
}

// The answer to one request; none for a notification, which is known when its reply is let go.
class Answer {
 public:
  explicit Answer(Later<std::optional<std::string>> later) : later_(std::move(later)) {}
  Answer(const Answer&) = delete;
  Answer& operator=(const Answer&) = delete;
  ~Answer() {
    if (!given_) later_.bring(std::nullopt);
  }
  void give(std::string line) {
    given_ = true;
    later_.bring(std::move(line));
  }

 private:
  Later<std::optional<std::string>> later_;
  bool given_ = false;
};

}  // namespace

// One connection: requests are answered one after the other.
struct ControlDoor::Held {
  Held(ControlContext& context, unsigned user, stream_protocol::socket socket)
      : client(context, keeper_with_uid(user)), stream(SocketStream::Socket(std::move(socket))) {}

  ControlClient client;
  SocketStream stream;
  JsonLines lines;
  std::deque<std::string> requests;
  Task<void> life;

  Task<void> run() {
    for (;;) {
      auto read = co_await stream.read();
      if (read.end != Stream::Read::End::none) co_return;
      std::string refusals;
      lines.feed(
          read.bytes, [this](std::string_view line) { requests.emplace_back(line); },
          [&] { refusals += Methods::too_long() + '\n'; });
      if (!refusals.empty()) co_await stream.write(std::move(refusals));
      while (!requests.empty()) {
        auto line = co_await call(requests.front());
        requests.pop_front();
        if (!line) continue;
        const bool sent = co_await stream.write(*line + '\n');
        if (!sent) co_return;
      }
    }
  }

  Later<std::optional<std::string>> call(const std::string& request) {
    Later<std::optional<std::string>> later;
    client.call(request, [answer = std::make_shared<Answer>(later)](std::string line) {
      answer->give(std::move(line));
    });
    return later;
  }
};

ControlDoor::ControlDoor(AsioLoop& loop, fs::OutsideFolder folder, ControlContext& context)
    : loop_(loop),
      folder_(std::move(folder)),
      context_(context),
      acceptor_(loop.context()),
      self_(std::make_shared<ControlDoor*>(this)) {}

ControlDoor::~ControlDoor() {
  *self_ = nullptr;
  close();
}

fs::Result<std::unique_ptr<ControlDoor>> ControlDoor::open(AsioLoop& loop,
                                                           const std::string& directory,
                                                           ControlContext& context) {
  auto folder = fs::OutsideFolder::open(directory);
  if (!folder) return folder.error();
  if (auto free = folder->remove_socket(socket_name); !free) return free.error();
  std::unique_ptr<ControlDoor> door(new ControlDoor(loop, std::move(*folder), context));
  error_code failed;
  door->acceptor_.open(stream_protocol(), failed);
  // The socket is born closed to all others, and the kernel's word about the peer is asked besides.
  if (!failed) {
    if (auto kept = fs::keep_to_owner(door->acceptor_.native_handle()); !kept) return kept.error();
  }
  if (!failed) {
    door->acceptor_.bind(stream_protocol::endpoint(door->folder_.path_of(socket_name)), failed);
  }
  if (!failed) door->acceptor_.listen(most_connections, failed);
  if (failed) {
    return fs::Error{fs::Code::io, fmt::format("The control socket can't be opened in \"{}\": {}.",
                                               directory, failed.message())};
  }
  door->accept();
  return door;
}

void ControlDoor::accept() {
  acceptor_.async_accept([self = self_](const error_code& failed, stream_protocol::socket socket) {
    ControlDoor* door = *self;
    if (door == nullptr || failed == asio::error::operation_aborted) return;
    if (!failed) door->admit(std::move(socket));
    if (door->acceptor_.is_open()) door->accept();
  });
}

void ControlDoor::admit(stream_protocol::socket socket) {
  const auto peer = peer_of(socket.native_handle());
  if (!peer || !may_control(*peer)) {
    spdlog::warn("Somebody who is not the keeper tried the control socket and was sent away.");
    return;
  }
  if (connections_.size() >= most_connections) return;
  const std::uint64_t number = next_++;
  auto& held = connections_[number];
  held = std::make_unique<Held>(context_, peer->uid, std::move(socket));
  held->life = live(number, *held);
  held->life.start();
}

Task<void> ControlDoor::live(std::uint64_t number, Held& held) {
  try {
    co_await held.run();
  } catch (const std::exception& bug) {
    spdlog::error("A control connection ended by a fault in the program: {}", bug.what());
  }
  loop_.post([self = self_, number] {
    if (*self != nullptr) (*self)->connections_.erase(number);
  });
}

void ControlDoor::close() {
  error_code ignored;
  if (!acceptor_.is_open()) return;
  acceptor_.close(ignored);
  static_cast<void>(folder_.remove_socket(socket_name));
}

}  // namespace stationer::server
