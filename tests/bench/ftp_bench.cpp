// FTP beside a server that only answers from memory, and beside the usual servers where they are on
// the PATH: files of 4 KiB by eight sessions, 512 MiB each way by one, signing in, and the memory
// of 500 sessions that do nothing. All in one run.
//
//   ftp_bench PROGRAM [FOLDER] [SECONDS]
//
// FOLDER is where all of them keep their files; the default is the system's for temporary ones.
// What is put is durable when we say so; the usual servers say so before, which their second figure
// makes up for: with the host's own waiting for the disk (syncfs) after it.
#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <functional>
#include <optional>
#include <thread>

#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include "fs/volume.h"
#include "tests/bench/ftp_peers.h"
#include "tests/bench/full_room.h"
#include "tests/support/plain_client.h"
#include "tests/support/serving.h"
#include "tests/support/temp_folder.h"

using namespace stationer;
using bench::FtpServer;
using test::PlainClient;
using Steady = std::chrono::steady_clock;

namespace {

constexpr std::size_t small_size = 4096;
constexpr std::size_t large_size = std::size_t{512} << 20;
constexpr int sessions = 8;
constexpr int idle_sessions = 500;
constexpr std::size_t piece_size = std::size_t{256} << 10;

double seconds_since(Steady::time_point start) {
  return std::chrono::duration<double>(Steady::now() - start).count();
}

class Client {
 public:
  explicit Client(const FtpServer& server) : Client(server, server.user) {}
  Client(const FtpServer& server, const std::string& user)
      : control_(PlainClient::tcp(server.port)) {
    in_ = control_.is_open() && heard("220") && says("USER " + user, "331") &&
          says("PASS " + server.password, "230") && says("TYPE I", "200");
  }
  bool in() const { return in_; }

  bool get(const std::string& file, std::size_t expected) {
    auto data = open_data();
    if (!data || !control_.send("RETR " + file + "\r\n")) return false;
    static thread_local std::string buffer(piece_size, '\0');
    std::size_t got = 0;
    for (;;) {
      const ssize_t now = ::recv(data->fd(), buffer.data(), buffer.size(), 0);
      if (now <= 0) break;
      got += static_cast<std::size_t>(now);
    }
    data.reset();  // some servers wait for that
    return heard("150") && heard("226") && got == expected;
  }

  bool put(const std::string& file, std::size_t size) {
    auto data = open_data();
    if (!data || !says("STOR " + file, "150")) return false;
    const std::string piece(piece_size, 'y');
    for (std::size_t left = size; left > 0;) {
      const std::size_t now = std::min(left, piece.size());
      if (!data->send({piece.data(), now})) return false;
      left -= now;
    }
    data.reset();
    return heard("226");
  }

 private:
  // Replies of several lines, too.
  bool heard(const std::string& code) {
    for (;;) {
      const auto line = control_.until("\r\n", std::chrono::seconds(60));
      if (!line) return false;
      if (line->size() > 3 && (*line)[3] == ' ' && (*line)[0] >= '1' && (*line)[0] <= '5') {
        const bool right =
            line->substr(0, code.size()) == code || (code == "150" && line->substr(0, 3) == "125");
        if (!right) fmt::print("    said: {}", *line);
        return right;
      }
    }
  }
  bool says(const std::string& line, const std::string& code) {
    return control_.send(line + "\r\n") && heard(code);
  }
  std::optional<PlainClient> open_data() {
    if (!control_.send("EPSV\r\n")) return std::nullopt;
    const auto line = control_.until("\r\n");
    const auto at = line ? line->find("|||") : std::string::npos;
    if (at == std::string::npos) return std::nullopt;
    auto data = PlainClient::tcp(static_cast<std::uint16_t>(std::stoi(line->substr(at + 3))));
    if (!data.is_open()) return std::nullopt;
    return data;
  }

  PlainClient control_;
  bool in_ = false;
};

// Does `act` in as many threads as there are sessions, each with a session of its own that is
// signed in before; how often it was done in a second.
struct Rate {
  double a_second = 0;
  double microseconds = 0;  // of the server's processor for each
};

Rate rate(const FtpServer& server, double seconds, const std::function<bool(Client&)>& act) {
  std::vector<Client> clients;
  for (int i = 0; i < sessions; ++i) clients.emplace_back(server);
  std::vector<std::thread> threads;
  std::vector<std::size_t> done(sessions, 0);
  const double before = bench::processor_seconds(server.pid);
  const auto start = Steady::now();
  for (std::size_t i = 0; i < done.size(); ++i) {
    threads.emplace_back([&, i] {
      while (clients[i].in() && seconds_since(start) < seconds && act(clients[i])) ++done[i];
    });
  }
  for (auto& each : threads) each.join();
  const double taken = seconds_since(start);
  std::size_t all = 0;
  for (const std::size_t each : done) all += each;
  const auto files = static_cast<double>(all);
  const double processor = bench::processor_seconds(server.pid) - before;
  return {files / taken, 1e6 * processor / std::max(files, 1.0)};
}

double logins(const FtpServer& server, double seconds) {
  std::vector<std::thread> threads;
  std::vector<std::size_t> done(sessions, 0);
  const auto start = Steady::now();
  for (std::size_t i = 0; i < done.size(); ++i) {
    threads.emplace_back([&, i] {
      while (seconds_since(start) < seconds && Client(server).in()) ++done[i];
    });
  }
  for (auto& each : threads) each.join();
  const double taken = seconds_since(start);
  std::size_t all = 0;
  for (const std::size_t each : done) all += each;
  return static_cast<double>(all) / taken;
}

constexpr double mib = 1 << 20;

struct Row {
  double small = 0, microseconds = 0, down = 0, up = 0, durable = 0, logins = 0, alone = 0,
         idle = 0;
};

Row measure(const FtpServer& server, const std::string& folder, double seconds, bool is_durable) {
  Row row;
  row.alone = bench::proportional_mib(server.pid);
  std::vector<Client> idle;
  for (int i = 0; i < idle_sessions; ++i) {
    idle.emplace_back(server, server.idle_user.empty() ? server.user : server.idle_user);
    if (!idle.back().in()) {
      fmt::print("    session {} was not let in\n", i + 1);
      break;
    }
  }
  row.idle = bench::proportional_mib(server.pid);
  idle.clear();
  const Rate small =
      rate(server, seconds, [&](Client& client) { return client.get(server.small, small_size); });
  row.small = small.a_second;
  row.microseconds = small.microseconds;
  {
    Client client(server);
    for (int i = 0; i < 3 && client.in(); ++i) {
      auto start = Steady::now();
      if (client.get(server.large, large_size)) {
        row.down = std::max(row.down, large_size / mib / seconds_since(start));
      }
      start = Steady::now();
      if (!client.put(server.fresh, large_size)) continue;
      row.up = std::max(row.up, large_size / mib / seconds_since(start));
      if (!is_durable) {
        const int fd = ::open(folder.c_str(), O_RDONLY);
        ::syncfs(fd);
        ::close(fd);
      }
      row.durable = std::max(row.durable, large_size / mib / seconds_since(start));
    }
  }
  row.logins = logins(server, seconds);
  fmt::print("{:<18} {:>9.0f} {:>7.0f} {:>7.0f} {:>7.0f} {:>8.0f} {:>8.0f} {:>7.1f} {:>9.1f}\n",
             server.name, row.small, row.microseconds, row.down, row.up, row.durable, row.logins,
             row.alone, row.idle);
  return row;
}

std::unique_ptr<FtpServer> ours(const std::string& program, const std::string& folder,
                                std::optional<test::Serving>& service, const std::string& small,
                                const std::string& large) {
  const std::string path = folder + "/volume";
  auto volume = fs::Volume::create(path, "Bench", {},
                                   "[door.terminal]\nopen = false\n[door.lpd]\nopen = false\n"
                                   "[door.raw]\nopen = false\n[door.ftp]\naddress = \"loopback\"\n"
                                   "port = 0\nmost_per_address = 2000\n");
  if (!volume) {
    fmt::print("{}\n", volume.error().message);
    return nullptr;
  }
  const auto keeper = fs::keeper_at_the_box();
  if (!(*volume)
           ->people()
           .add_account(keeper, {"bench", "", fs::Role::member, "", "mill-race"})
           .wait())
    return nullptr;
  fs::AccountChange change;
  change.quota = fs::Quota{};  // none
  if (!(*volume)->people().change_account(keeper, "bench", change).wait()) return nullptr;
  for (const auto& [name, source] : {std::pair{"small", small}, std::pair{"large", large}}) {
    auto upload = (*volume)->files().save(
        keeper, fs::Path::parse(std::string("/public/") + name).value(), {});
    if (!upload) return nullptr;
    std::ifstream from(source);
    std::string piece(piece_size, '\0');
    while (from.read(piece.data(), static_cast<std::streamsize>(piece.size())) ||
           from.gcount() > 0) {
      if (!upload->write({piece.data(), static_cast<std::size_t>(from.gcount())})) return nullptr;
    }
    if (!upload->finish().wait()) return nullptr;
  }
  volume->reset();
  service.emplace(program, path);
  if (!service->is_ready()) return nullptr;
  auto server = std::make_unique<FtpServer>();
  server->name = "stationer";
  server->port = service->port("ftp");
  server->user = "bench";
  server->idle_user = "anonymous";  // whose memory is a member's, without the password's hash
  server->password = "mill-race";
  server->small = "/public/small";
  server->large = "/public/large";
  server->fresh = "/public/fresh";
  return server;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) return 2;
  std::setvbuf(stdout, nullptr, _IOLBF, 0);
  bench::allow_many_files();
  if (argc > 2) ::setenv("TMPDIR", argv[2], 1);
  const double seconds = argc > 3 ? std::atof(argv[3]) : 3;
  const test::TempFolder folder;
  // They give up their rights, and have to get here all the same.
  std::filesystem::permissions(folder.path(), std::filesystem::perms(0755));
  const std::string small = folder / "small";
  const std::string large = folder / "large";
  std::ofstream(small) << std::string(small_size, 'x');
  {
    std::ofstream out(large);
    const std::string piece(piece_size, 'x');
    for (std::size_t i = 0; i < large_size; i += piece.size()) out << piece;
  }
  std::optional<test::Serving> service;
  const auto own = ours(argv[1], folder.path(), service, small, large);
  if (!own) return 1;
  const auto usual = bench::usual_servers(folder.path(), small, large);
  const auto bare = bench::bare_server(std::string(small_size, 'x'), large_size);

  fmt::print("{:<18} {:>9} {:>7} {:>7} {:>7} {:>8} {:>8} {:>7} {:>9}\n", "", "4 KiB/s", "µs each",
             "down", "up", "durable", "logins/s", "alone", "500 idle");
  fmt::print("{:<18} {:>9} {:>7} {:>7} {:>7} {:>8} {:>8} {:>7} {:>9}\n", "", "", "", "MiB/s",
             "MiB/s", "MiB/s", "", "MiB", "MiB");
  own->pid = service->pid();
  const Row limit = measure(*bare, folder.path(), seconds, true);
  Row best;
  for (const auto& server : usual) {
    const Row row = measure(*server, folder.path(), seconds, false);
    best.small = std::max(best.small, row.small);
    if (best.microseconds == 0 || row.microseconds < best.microseconds) {
      best.microseconds = row.microseconds;
    }
    best.down = std::max(best.down, row.down);
    best.up = std::max(best.up, row.up);
    best.durable = std::max(best.durable, row.durable);
    best.logins = std::max(best.logins, row.logins);
  }
  const Row row = measure(*own, folder.path(), seconds, true);
  own->pid = -1;  // the service ends with its own object
  fmt::print("of the bare one    {:>9.2f} {:>7.2f} {:>7.2f} {:>7.2f}\n", row.small / limit.small,
             row.microseconds / limit.microseconds, row.down / limit.down, row.up / limit.up);
  if (!usual.empty()) {
    fmt::print("of the best usual  {:>9.2f} {:>7.2f} {:>7.2f} {:>7.2f} {:>8.2f} {:>8.2f}\n",
               row.small / best.small, row.microseconds / best.microseconds, row.down / best.down,
               row.up / best.up, row.durable / best.durable, row.logins / best.logins);
  }
  return 0;
}
