// A room that loads one program by TFTP, all at once: files a second, by how many stations, beside
// two servers of the host's, if they are there, and beside responders that answer from memory
// without looking at anything: one with a socket for each transfer, one with a single socket.
//
//   tftp_bench PROGRAM [STATIONS…]
//   tftp_bench PROGRAM relay RELAY     how much comes through a network that makes mistakes, by
//                                      tests/support/datagram_relay.cpp, beside a good one
#include <algorithm>
#include <array>
#include <chrono>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <functional>
#include <vector>

#include <arpa/inet.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/epoll.h>
#include <sys/prctl.h>
#include <sys/socket.h>

#include "tests/bench/full_room.h"
#include "tests/support/closed_doors.h"

using namespace stationer;

namespace {

using Clock = std::chrono::steady_clock;
using namespace std::chrono_literals;

constexpr std::size_t file_size = 16384;
constexpr std::size_t block_size = 512;
constexpr std::size_t blocks = file_size / block_size + 1;  // the last one is empty
constexpr auto patience = 1s;                               // then a station says it again
constexpr int most_tries = 20;

std::string file_bytes() {
  std::string out(file_size, '\0');
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = static_cast<char>(i * 7 + i / 256);
  return out;
}

// Every station has an address of its own: 127.1.0.1 and so on.
constexpr std::uint32_t first_station = 0x7F010001;

sockaddr_in loopback(std::uint16_t port, std::uint32_t address = INADDR_LOOPBACK) {
  sockaddr_in out{};
  out.sin_family = AF_INET;
  out.sin_port = htons(port);
  out.sin_addr.s_addr = htonl(address);
  return out;
}

int udp_socket(std::uint16_t port, bool with_room = false,
               std::uint32_t address = INADDR_LOOPBACK) {
  const int fd = ::socket(AF_INET, SOCK_DGRAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
  const int room = 4 << 20;
  if (with_room) ::setsockopt(fd, SOL_SOCKET, SO_RCVBUF, &room, sizeof room);
  const sockaddr_in here = loopback(port, address);
  if (fd < 0 || ::bind(fd, reinterpret_cast<const sockaddr*>(&here), sizeof here) != 0) {
    std::perror("a socket for a station");
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

std::uint16_t word(const char* at) {
  return static_cast<std::uint16_t>(static_cast<unsigned char>(at[0]) << 8 |
                                    static_cast<unsigned char>(at[1]));
}

// ---- the stations ----

struct Station {
  int fd = -1;
  std::uint16_t expects = 1;
  int tries = 0;
  Clock::time_point said{};
  sockaddr_in server{};  // the port that answered
  bool answered = false;
};

struct Outcome {
  double files_a_second = 0;
  std::size_t failed = 0;
  std::size_t wrong = 0;
  std::size_t gave_up = 0;  // of those that failed; the others were refused
  std::size_t again = 0;    // said again after a silence
};

class Room {
 public:
  Room(std::size_t stations, std::uint16_t port, std::string name, std::uint32_t first,
       std::function<void()> watch)
      : first_(first),
        watch_(std::move(watch)),
        door_(loopback(port)),
        expected_(file_bytes()),
        stations_(stations) {
    request_ = std::string("\0\1", 2) + name + '\0' + "octet" + '\0';
    epoll_ = ::epoll_create1(EPOLL_CLOEXEC);
  }
  ~Room() {
    for (const auto& each : stations_) ::close(each.fd);
    ::close(epoll_);
  }

  // Every station loads the file, and again as long as there are files to load.
  Outcome load(std::size_t files) {
    left_ = files;
    const auto begin = Clock::now();
    for (std::size_t i = 0; i < stations_.size() && left_ > 0; ++i) start(i);
    std::array<epoll_event, 512> events{};
    auto checked = Clock::now();
    while (going_ > 0) {
      const int ready = ::epoll_wait(epoll_, events.data(), events.size(), 50);
      for (int i = 0; i < ready; ++i) hear(events[static_cast<std::size_t>(i)].data.u64);
      if (Clock::now() - checked < 50ms) continue;
      checked = Clock::now();
      if (watch_) watch_();
      for (std::size_t i = 0; i < stations_.size(); ++i) {
        if (stations_[i].tries > 0 && checked - stations_[i].said > patience) say_again(i);
      }
    }
    const std::chrono::duration<double> took = Clock::now() - begin;
    outcome_.files_a_second = static_cast<double>(done_) / took.count();
    return outcome_;
  }

 private:
  void start(std::size_t i) {
    Station& station = stations_[i];
    --left_;
    ++going_;
    // A station that loads again does so from another port.
    if (station.fd >= 0) ::close(station.fd);
    station = {};
    station.fd = udp_socket(0, false, address_of(i));
    epoll_event event{};
    event.events = EPOLLIN;
    event.data.u64 = i;
    ::epoll_ctl(epoll_, EPOLL_CTL_ADD, station.fd, &event);
    station.tries = 1;
    say(station);
  }

  // The relay knows one address only.
  std::uint32_t address_of(std::size_t i) const {
    return first_ == INADDR_LOOPBACK ? first_ : first_ + static_cast<std::uint32_t>(i);
  }

  void say(Station& station) {
    station.said = Clock::now();
    if (!station.answered) {
      ::sendto(station.fd, request_.data(), request_.size(), 0,
               reinterpret_cast<const sockaddr*>(&door_), sizeof door_);
      return;
    }
    const std::uint16_t block = static_cast<std::uint16_t>(station.expects - 1);
    const std::array<char, 4> ack = {0, 4, static_cast<char>(block >> 8),
                                     static_cast<char>(block & 0xFF)};
    ::sendto(station.fd, ack.data(), ack.size(), 0,
             reinterpret_cast<const sockaddr*>(&station.server), sizeof station.server);
  }

  void say_again(std::size_t i) {
    Station& station = stations_[i];
    ++outcome_.again;
    if (++station.tries > most_tries) {
      ++outcome_.failed;
      ++outcome_.gave_up;
      return over(i);
    }
    say(station);
  }

  void over(std::size_t i) {
    stations_[i].tries = 0;
    --going_;
    if (left_ > 0) start(i);
  }

  void hear(std::size_t i) {
    Station& station = stations_[i];
    std::array<char, 1024> packet{};
    sockaddr_in from{};
    socklen_t size = sizeof from;
    const ssize_t got = ::recvfrom(station.fd, packet.data(), packet.size(), 0,
                                   reinterpret_cast<sockaddr*>(&from), &size);
    if (got < 4 || station.tries == 0) return;
    if (word(packet.data()) == 5) {
      ++outcome_.failed;
      return over(i);
    }
    if (word(packet.data()) != 3) return;
    // What comes again was not heard to have come: RFC 1350 §2.
    if (station.answered && word(packet.data() + 2) == station.expects - 1) return say(station);
    if (word(packet.data() + 2) != station.expects) return;
    if (!station.answered) {
      station.answered = true;
      station.server = from;
    }
    const std::size_t bytes = static_cast<std::size_t>(got) - 4;
    const std::size_t offset = (station.expects - 1U) * block_size;
    if (offset + bytes > file_size ||
        std::memcmp(packet.data() + 4, expected_.data() + offset, bytes) != 0) {
      ++outcome_.wrong;
    }
    ++station.expects;
    station.tries = 1;
    say(station);
    if (bytes == block_size) return;
    ++done_;
    over(i);
  }

  std::uint32_t first_;          // station's address
  std::function<void()> watch_;  // called now and then
  sockaddr_in door_;
  std::string expected_;
  std::string request_;
  std::vector<Station> stations_;
  int epoll_;
  std::size_t left_ = 0;
  std::size_t going_ = 0;
  std::size_t done_ = 0;
  Outcome outcome_;
};

// ---- who answers ----

class Child {
 public:
  explicit Child(const std::function<void()>& run) {
    pid_ = ::fork();
    if (pid_ != 0) return;
    ::setpgid(0, 0);  // what it starts goes with it
    ::prctl(PR_SET_PDEATHSIG, SIGKILL);
    run();
    std::_Exit(127);
  }
  Child(const Child&) = delete;
  Child& operator=(const Child&) = delete;
  ~Child() {
    ::kill(-pid_, SIGKILL);
    ::kill(pid_, SIGKILL);
    ::waitpid(pid_, nullptr, 0);
  }
  pid_t pid() const { return pid_; }

 private:
  pid_t pid_;
};

std::size_t fill_block(std::uint16_t number, const std::string& file, char* packet) {
  const std::size_t offset = (number - 1U) * block_size;
  if (offset > file.size()) return 0;
  const std::size_t bytes = std::min(block_size, file.size() - offset);
  packet[0] = 0;
  packet[1] = 3;
  packet[2] = static_cast<char>(number >> 8);
  packet[3] = static_cast<char>(number & 0xFF);
  std::memcpy(packet + 4, file.data() + offset, bytes);
  return bytes + 4;
}

// Which block answers a packet; 0: none.
std::uint16_t answer_to(const char* packet) {
  return word(packet) == 1   ? std::uint16_t{1}
         : word(packet) == 4 ? static_cast<std::uint16_t>(word(packet + 2) + 1)
                             : std::uint16_t{0};
}

// One socket, many datagrams in a call, nothing remembered.
[[noreturn]] void respond_by_one(int fd) {
  ::fcntl(fd, F_SETFL, 0);
  constexpr std::size_t most = 64;
  const std::string file = file_bytes();
  static std::array<std::array<char, 600>, most> in, out;
  std::array<sockaddr_in, most> peers{};
  std::array<iovec, most> in_parts{}, out_parts{};
  std::array<mmsghdr, most> heard{}, said{};
  for (;;) {
    for (std::size_t i = 0; i < most; ++i) {
      in_parts[i] = {in[i].data(), in[i].size()};
      heard[i].msg_hdr = {&peers[i], sizeof peers[i], &in_parts[i], 1, nullptr, 0, 0};
    }
    const int got = ::recvmmsg(fd, heard.data(), most, MSG_WAITFORONE, nullptr);
    unsigned count = 0;
    for (std::size_t i = 0; got > 0 && i < static_cast<std::size_t>(got); ++i) {
      const std::uint16_t block = answer_to(in[i].data());
      const std::size_t size = block == 0 ? 0 : fill_block(block, file, out[count].data());
      if (size == 0) continue;
      out_parts[count] = {out[count].data(), size};
      said[count].msg_hdr = {&peers[i], sizeof peers[i], &out_parts[count], 1, nullptr, 0, 0};
      ++count;
    }
    if (count > 0) ::sendmmsg(fd, said.data(), count, 0);
  }
}

// A socket for each transfer, and the port with it.
[[noreturn]] void respond_by_many(int fd) {
  const std::string file = file_bytes();
  const int epoll = ::epoll_create1(0);
  epoll_event event{};
  event.events = EPOLLIN;
  event.data.fd = fd;
  ::epoll_ctl(epoll, EPOLL_CTL_ADD, fd, &event);
  std::array<epoll_event, 512> events{};
  std::array<char, 600> in{}, out{};
  for (;;) {
    const int ready = ::epoll_wait(epoll, events.data(), events.size(), -1);
    for (int i = 0; i < ready; ++i) {
      const int at = events[static_cast<std::size_t>(i)].data.fd;
      for (;;) {
        sockaddr_in peer{};
        socklen_t size = sizeof peer;
        if (::recvfrom(at, in.data(), in.size(), 0, reinterpret_cast<sockaddr*>(&peer), &size) < 4)
          break;
        int answers = at;
        if (at == fd) {
          answers = udp_socket(0);
          event.data.fd = answers;
          ::epoll_ctl(epoll, EPOLL_CTL_ADD, answers, &event);
        }
        const std::uint16_t block = answer_to(in.data());
        if (block > blocks) {
          ::close(answers);
          break;
        }
        const std::size_t length = fill_block(block, file, out.data());
        ::sendto(answers, out.data(), length, 0, reinterpret_cast<sockaddr*>(&peer), size);
        if (at != fd) continue;
      }
    }
  }
}

// A line of /proc/PID/status (proc(5)).
double kib_of(pid_t pid, const std::string& what) {
  std::ifstream status(fmt::format("/proc/{}/status", pid));
  std::string word;
  while (status >> word) {
    double kib = 0;
    if (word == what + ":" && status >> kib) return kib;
  }
  return 0;
}

bool is_there(const char* program) {
  return std::system(fmt::format("command -v {} >/dev/null 2>&1", program).c_str()) == 0;
}

std::size_t files_for(std::size_t stations) {
  return std::max<std::size_t>(4000, stations * 2);
}

// More stations than a process may have files open are several processes.
constexpr std::size_t most_in_process = 12'000;

Outcome load(std::size_t stations, std::uint16_t port, const std::string& name,
             const std::function<void()>& watch) {
  const std::size_t files = files_for(stations);
  const std::size_t processes = (stations + most_in_process - 1) / most_in_process;
  if (processes == 1) return Room(stations, port, name, first_station, watch).load(files);
  int ends[2];
  if (::pipe(ends) != 0) std::exit(1);
  std::vector<std::unique_ptr<Child>> children;
  for (std::size_t i = 0; i < processes; ++i) {
    children.push_back(std::make_unique<Child>([&] {
      const auto first = first_station + static_cast<std::uint32_t>(i * most_in_process);
      const Outcome outcome =
          Room(stations / processes, port, name, first, {}).load(files / processes);
      std::ignore = ::write(ends[1], &outcome, sizeof outcome);
      std::_Exit(0);
    }));
  }
  Outcome all;
  for (std::size_t i = 0; i < processes;) {
    pollfd ask{ends[0], POLLIN, 0};
    if (::poll(&ask, 1, 50) == 0) {
      if (watch) watch();
      continue;
    }
    Outcome outcome;
    if (::read(ends[0], &outcome, sizeof outcome) != sizeof outcome) std::exit(1);
    all.files_a_second += outcome.files_a_second;
    all.failed += outcome.failed;
    all.gave_up += outcome.gave_up;
    all.wrong += outcome.wrong;
    all.again += outcome.again;
    ++i;
  }
  ::close(ends[0]);
  ::close(ends[1]);
  return all;
}

void report(const char* who, std::size_t stations, std::uint16_t port, const std::string& name,
            double& best, const std::function<void()>& watch = {}) {
  const Outcome outcome = load(stations, port, name, watch);
  if (best == 0) best = outcome.files_a_second;
  fmt::print("{:<34} {:>7} {:>9.0f} {:>6.2f}", who, stations, outcome.files_a_second,
             best > 0 ? outcome.files_a_second / best : 0);
  if (outcome.again > 0) fmt::print("  {} said again", outcome.again);
  if (outcome.failed > 0) {
    fmt::print("  {} failed, {} of them after {} s", outcome.failed, outcome.gave_up, most_tries);
  }
  if (outcome.wrong > 0) fmt::print("  {} blocks were wrong", outcome.wrong);
  fmt::print("\n");
  std::fflush(stdout);
}

std::uint16_t free_port() {
  const int fd = udp_socket(0);
  const std::uint16_t port = port_of(fd);
  ::close(fd);
  return port;
}

bool make_volume(const std::string& path) {
  fs::Surroundings surroundings;
  surroundings.password_cost = fs::PasswordCost{1, 8192};
  auto volume = fs::Volume::create(path, "Loading", surroundings,
                                   "[door.tftp]\naddress = \"loopback\"\nport = 0\n"
                                   "most = 40000\nmost_per_address = 40000\n" +
                                       test::closed_doors({"tftp"}));
  if (!volume) return false;
  auto upload = (*volume)->files().save(fs::keeper_at_the_box(),
                                        fs::Path::parse("/programs/boot").value(), {});
  return upload && upload->write(file_bytes()) && upload->finish().wait();
}

// What comes through a relay between ten stations and the service.
int measure_relay(const char* program, const std::string& volume, const char* relay) {
  const test::Serving service(program, volume);
  if (!service.is_ready()) return 1;
  const std::string port = std::to_string(service.port("tftp"));
  fmt::print("{:<34} {:>7} {:>9} {:>6}\n", "lost, repeated, delayed per 1000", "at once", "files/s",
             "ratio");
  double good = 0;
  for (const auto& faults :
       {std::array{"0", "0", "0"}, std::array{"0", "100", "0"}, std::array{"0", "0", "100"},
        std::array{"10", "10", "10"}, std::array{"30", "30", "100"}}) {
    int ends[2];
    int input[2];
    if (::pipe(ends) != 0 || ::pipe(input) != 0) return 1;
    const Child child([&] {
      ::dup2(input[0], STDIN_FILENO);
      ::dup2(ends[1], STDOUT_FILENO);
      ::close(input[1]);
      ::execl(relay, relay, port.c_str(), "11", faults[0], faults[1], faults[2], nullptr);
    });
    char line[16] = {};
    if (::read(ends[0], line, sizeof line - 1) <= 0) return 1;
    Room room(10, static_cast<std::uint16_t>(std::atoi(line)), "boot", INADDR_LOOPBACK, {});
    const Outcome outcome = room.load(200);
    if (good == 0) good = outcome.files_a_second;
    fmt::print("{:<34} {:>7} {:>9.0f} {:>6.2f}  {} said again by stations, {} failed, {} wrong\n",
               fmt::format("{}, {}, {}", faults[0], faults[1], faults[2]), 10,
               outcome.files_a_second, outcome.files_a_second / good, outcome.again, outcome.failed,
               outcome.wrong);
    std::fflush(stdout);
    for (const int fd : {ends[0], ends[1], input[0], input[1]}) ::close(fd);
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) return 2;
  const rlimit many{70'000, 70'000};  // for root; others have what they have
  if (::setrlimit(RLIMIT_NOFILE, &many) != 0) bench::allow_many_files();
  const bool by_relay = argc == 4 && std::string_view(argv[2]) == "relay";
  std::vector<std::size_t> rooms;
  for (int i = 2; i < argc && !by_relay; ++i)
    rooms.push_back(static_cast<std::size_t>(std::atol(argv[i])));
  if (rooms.empty()) rooms = {1, 10, 100, 1000, 4000};

  test::TempFolder folder;
  const std::string shared = folder / "shared";
  std::filesystem::create_directory(shared);
  std::filesystem::permissions(folder / "", std::filesystem::perms::all);
  std::ofstream(shared + "/boot") << file_bytes();
  const std::string volume = folder / "volume";
  if (!make_volume(volume)) return 1;
  if (by_relay) return measure_relay(argv[1], volume, argv[3]);

  fmt::print("{:<34} {:>7} {:>9} {:>6}\n", "16 KiB in blocks of 512", "at once", "files/s",
             "ratio");
  for (const std::size_t stations : rooms) {
    double limit = 0;
    {
      const int fd = udp_socket(0, true);
      const Child responder([fd] { respond_by_one(fd); });
      report("from memory, one socket (limit)", stations, port_of(fd), "boot", limit);
      ::close(fd);
    }
    {
      const int fd = udp_socket(0, true);
      const Child responder([fd] { respond_by_many(fd); });
      report("from memory, a socket each", stations, port_of(fd), "boot", limit);
      ::close(fd);
    }
    {
      const test::Serving service(argv[1], volume);
      if (!service.is_ready()) return 1;
      double alone = 0;
      report("stationer, to begin with", 10, service.port("tftp"), "boot", alone);
      const double before = kib_of(service.pid(), "VmRSS");
      double most = before;
      report("stationer", stations, service.port("tftp"), "boot", limit,
             [&] { most = std::max(most, kib_of(service.pid(), "VmRSS")); });
      fmt::print("{:<34} {:>7} {:>9.2f} KiB of memory a transfer, of {:.0f} MiB in all\n", "",
                 stations, (most - before) / static_cast<double>(stations), most / 1024);
    }
    const std::uint16_t port = free_port();
    const std::string here = fmt::format("127.0.0.1:{}", port);
    const std::string port_text = std::to_string(port);
    if (is_there("in.tftpd")) {
      const Child peer([&] {
        ::execlp("in.tftpd", "in.tftpd", "-L", "-a", here.c_str(), "-s", shared.c_str(), nullptr);
      });
      ::usleep(300'000);
      report("tftpd-hpa", stations, port, "boot", limit);
    }
    if (is_there("atftpd")) {
      const Child peer([&] {
        ::execlp("atftpd", "atftpd", "--daemon", "--no-fork", "--port", port_text.c_str(),
                 "--bind-address", "127.0.0.1", "--maxthread", "10000", "--user", "root",
                 shared.c_str(), nullptr);
      });
      ::usleep(300'000);
      report("atftpd", stations, port, "boot", limit);
    }
  }
  return 0;
}
