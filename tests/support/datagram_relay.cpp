// A network that makes mistakes, between stations and a TFTP server on loopback: by a seed, it
// loses, repeats and delays datagrams, so that others overtake them. A transfer's ports are carried
// through: each of the server's shows as one of the relay's.
//
//   datagram_relay PORT SEED LOSES REPEATS DELAYS        (per thousand)
//
// Says the port that stands for PORT, and runs until it is killed. At the end of its input, so that
// it goes with its parent, it says how many datagrams it lost, repeated and delayed.
#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <map>
#include <random>
#include <string>
#include <vector>

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

namespace {

using Clock = std::chrono::steady_clock;
using namespace std::chrono_literals;

constexpr auto longest_delay = 40ms;
constexpr std::size_t most_transfers = 400;  // after that the oldest go

sockaddr_in loopback(std::uint16_t port) {
  sockaddr_in out{};
  out.sin_family = AF_INET;
  out.sin_port = htons(port);
  out.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  return out;
}

int open_port() {
  const int fd = ::socket(AF_INET, SOCK_DGRAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
  const sockaddr_in here = loopback(0);
  if (fd < 0 || ::bind(fd, reinterpret_cast<const sockaddr*>(&here), sizeof here) != 0) {
    std::perror("datagram_relay");
    std::exit(1);
  }
  return fd;
}

std::uint16_t port_of(int fd) {
  sockaddr_in here{};
  socklen_t size = sizeof here;
  ::getsockname(fd, reinterpret_cast<sockaddr*>(&here), &size);
  return ntohs(here.sin_port);
}

// A station's port, what stands for it at the server, and what stands for the server's at it.
struct Transfer {
  std::uint16_t station = 0;
  int to_server = -1;
  int to_station = -1;
  std::uint16_t server = 0;  // the port that answered
};

struct Late {
  int fd;
  std::uint16_t to;
  std::string octets;
};

class Relay {
 public:
  Relay(std::uint16_t server, unsigned seed, std::array<unsigned, 3> per_thousand)
      : server_(server), random_(seed), per_thousand_(per_thousand), door_(open_port()) {}

  std::uint16_t port() const { return port_of(door_); }

  void run() {
    for (;;) {
      std::vector<pollfd> asks = {{STDIN_FILENO, POLLIN, 0}, {door_, POLLIN, 0}};
      for (const auto& each : transfers_) {
        asks.push_back({each.to_server, POLLIN, 0});
        asks.push_back({each.to_station, POLLIN, 0});
      }
      ::poll(asks.data(), asks.size(), late_.empty() ? 1000 : 2);
      say_what_is_due();
      if (asks[0].revents != 0) return;
      if (asks[1].revents != 0) hear_requests();
      for (std::size_t i = 2; i < asks.size(); i += 2) {
        Transfer& transfer = transfers_[(i - 2) / 2];
        if (asks[i].revents != 0) hear_server(transfer);
        if (asks[i + 1].revents != 0) hear_station(transfer);
      }
      while (transfers_.size() > most_transfers) {
        ::close(transfers_.front().to_server);
        ::close(transfers_.front().to_station);
        transfers_.erase(transfers_.begin());
      }
    }
  }

  void report() const {
    std::printf("%zu datagrams: %zu lost, %zu repeated, %zu delayed\n", all_, counts_[0],
                counts_[1], counts_[2]);
  }

 private:
  std::string hear(int fd, std::uint16_t& from) {
    std::array<char, 66'000> octets;
    sockaddr_in peer{};
    socklen_t size = sizeof peer;
    const ssize_t got =
        ::recvfrom(fd, octets.data(), octets.size(), 0, reinterpret_cast<sockaddr*>(&peer), &size);
    from = ntohs(peer.sin_port);
    return got > 0 ? std::string(octets.data(), static_cast<std::size_t>(got)) : std::string();
  }

  void hear_requests() {
    std::uint16_t from = 0;
    for (auto octets = hear(door_, from); !octets.empty(); octets = hear(door_, from)) {
      Transfer* found = nullptr;
      for (auto& each : transfers_) {
        if (each.station == from) found = &each;
      }
      if (found == nullptr) {
        transfers_.push_back({from, open_port(), open_port(), 0});
        found = &transfers_.back();
      }
      carry(found->to_server, server_, octets);
    }
  }

  void hear_server(Transfer& transfer) {
    std::uint16_t from = 0;
    for (auto octets = hear(transfer.to_server, from); !octets.empty();
         octets = hear(transfer.to_server, from)) {
      transfer.server = from;
      carry(transfer.to_station, transfer.station, octets);
    }
  }

  void hear_station(Transfer& transfer) {
    std::uint16_t from = 0;
    for (auto octets = hear(transfer.to_station, from); !octets.empty();
         octets = hear(transfer.to_station, from)) {
      if (transfer.server != 0) carry(transfer.to_server, transfer.server, octets);
    }
  }

  bool happens(std::size_t what) {
    const bool yes = random_() % 1000 < per_thousand_[what];
    if (yes) ++counts_[what];
    return yes;
  }

  void carry(int fd, std::uint16_t to, const std::string& octets) {
    ++all_;
    if (happens(0)) return;
    for (int times = happens(1) ? 2 : 1; times > 0; --times) {
      const auto late =
          happens(2) ? std::chrono::milliseconds(random_() % longest_delay.count()) : 0ms;
      late_.emplace(Clock::now() + late, Late{fd, to, octets});
    }
    say_what_is_due();
  }

  void say_what_is_due() {
    while (!late_.empty() && late_.begin()->first <= Clock::now()) {
      const Late& each = late_.begin()->second;
      const sockaddr_in to = loopback(each.to);
      ::sendto(each.fd, each.octets.data(), each.octets.size(), 0,
               reinterpret_cast<const sockaddr*>(&to), sizeof to);
      late_.erase(late_.begin());
    }
  }

  const std::uint16_t server_;
  std::mt19937 random_;
  const std::array<unsigned, 3> per_thousand_;
  const int door_;
  std::vector<Transfer> transfers_;
  std::multimap<Clock::time_point, Late> late_;
  std::size_t all_ = 0;
  std::array<std::size_t, 3> counts_{};
};

}  // namespace

int main(int argc, char** argv) {
  if (argc != 6) {
    std::fputs("usage: datagram_relay PORT SEED LOSES REPEATS DELAYS (per thousand)\n", stderr);
    return 2;
  }
  const auto number = [&](int i) {
    return static_cast<unsigned>(std::strtoul(argv[i], nullptr, 10));
  };
  Relay relay(static_cast<std::uint16_t>(number(1)), number(2), {number(3), number(4), number(5)});
  std::printf("%u\n", unsigned{relay.port()});
  std::fflush(stdout);
  relay.run();
  relay.report();
  return 0;
}
