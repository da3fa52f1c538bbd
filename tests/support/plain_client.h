// A client for threads of its own: every wait is bounded, and failures are answers, not assertions.
#pragma once

#include <chrono>
#include <cstring>
#include <optional>
#include <string>
#include <string_view>

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

namespace stationer::test {

class PlainClient {
 public:
  static PlainClient tcp(std::uint16_t port) {
    sockaddr_in to{};
    to.sin_family = AF_INET;
    to.sin_port = htons(port);
    to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    return PlainClient(AF_INET, reinterpret_cast<const sockaddr*>(&to), sizeof to);
  }
  static PlainClient local(const std::string& path) {
    sockaddr_un to{};
    to.sun_family = AF_UNIX;
    std::strncpy(to.sun_path, path.c_str(), sizeof to.sun_path - 1);
    return PlainClient(AF_UNIX, reinterpret_cast<const sockaddr*>(&to), sizeof to);
  }
  PlainClient(PlainClient&& other) noexcept
      : fd_(std::exchange(other.fd_, -1)), received_(std::move(other.received_)) {}
  ~PlainClient() {
    if (fd_ >= 0) ::close(fd_);
  }

  bool is_open() const { return fd_ >= 0; }
  int fd() const { return fd_; }

  bool send(std::string_view bytes) {
    while (!bytes.empty()) {
      const ssize_t sent = ::send(fd_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
      if (sent <= 0) return false;
      bytes.remove_prefix(static_cast<std::size_t>(sent));
    }
    return true;
  }

  // All up to and with `end`; nothing when the connection ends or `patience` runs out before.
  std::optional<std::string> until(std::string_view end,
                                   std::chrono::milliseconds patience = std::chrono::seconds(20)) {
    const auto deadline = std::chrono::steady_clock::now() + patience;
    for (;;) {
      const auto at = received_.find(end);
      if (at != std::string::npos) {
        std::string out = received_.substr(0, at + end.size());
        received_.erase(0, at + end.size());
        return out;
      }
      const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(
          deadline - std::chrono::steady_clock::now());
      pollfd query{fd_, POLLIN, 0};
      if (left.count() <= 0 || ::poll(&query, 1, static_cast<int>(left.count())) <= 0)
        return std::nullopt;
      char piece[16384];
      const ssize_t got = ::recv(fd_, piece, sizeof piece, 0);
      if (got <= 0) return std::nullopt;
      received_.append(piece, static_cast<std::size_t>(got));
    }
  }

  void end_output() { ::shutdown(fd_, SHUT_WR); }

 private:
  PlainClient(int family, const sockaddr* to, socklen_t size)
      : fd_(::socket(family, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    if (::connect(fd_, to, size) == 0) return;
    ::close(fd_);
    fd_ = -1;
  }

  int fd_;
  std::string received_;
};

// Signs in at a terminal door over a plain line whose far end shows its own typing.
inline bool sign_in(PlainClient& client, const std::string& name, const std::string& password) {
  return client.is_open() && client.until("begin.\r\n") && client.send("\n") &&
         client.until("Name: ") && client.send(name + "\n") && client.until("Password: ") &&
         client.send(password + "\n") && client.until("/members/" + name + "> ");
}

}  // namespace stationer::test
