#include "tests/bench/ftp_peers.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <thread>

#include <arpa/inet.h>
#include <fcntl.h>
#include <fmt/format.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <sys/epoll.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

namespace stationer::bench {
namespace {

namespace fsys = std::filesystem;

sockaddr_in loopback(std::uint16_t port) {
  sockaddr_in at{};
  at.sin_family = AF_INET;
  at.sin_port = htons(port);
  at.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  return at;
}

int listen_on(std::uint16_t port, int most) {
  const int fd = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  const int on = 1;
  ::setsockopt(fd, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
  const sockaddr_in at = loopback(port);
  if (::bind(fd, reinterpret_cast<const sockaddr*>(&at), sizeof at) != 0 ||
      ::listen(fd, most) != 0) {
    ::close(fd);
    return -1;
  }
  return fd;
}

std::uint16_t port_of(int fd) {
  sockaddr_in at{};
  socklen_t size = sizeof at;
  ::getsockname(fd, reinterpret_cast<sockaddr*>(&at), &size);
  return ntohs(at.sin_port);
}

bool answers(std::uint16_t port) {
  for (int i = 0; i < 100; ++i) {
    const int fd = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    const sockaddr_in at = loopback(port);
    const bool connected = ::connect(fd, reinterpret_cast<const sockaddr*>(&at), sizeof at) == 0;
    ::close(fd);
    if (connected) return true;
    std::this_thread::sleep_for(std::chrono::milliseconds(50));
  }
  return false;
}

// ---- the bare one ----

// Only what ftp_bench's client says, in the order in which it says it. Data are waited for with all
// others standing still, which on loopback is the fastest way.
class Bare {
 public:
  Bare(int listener, std::string small, std::size_t large_size)
      : listener_(listener), small_(std::move(small)), large_size_(large_size) {}

  [[noreturn]] void run() {
    epoll_ = ::epoll_create1(EPOLL_CLOEXEC);
    watch(listener_);
    std::array<epoll_event, 64> events;
    for (;;) {
      const int count = ::epoll_wait(epoll_, events.data(), static_cast<int>(events.size()), -1);
      for (int i = 0; i < count; ++i) {
        const int fd = events[static_cast<std::size_t>(i)].data.fd;
        if (fd == listener_) {
          welcome();
        } else {
          hear(fd);
        }
      }
    }
  }

 private:
  void watch(int fd) const {
    epoll_event event{};
    event.events = EPOLLIN;
    event.data.fd = fd;
    ::epoll_ctl(epoll_, EPOLL_CTL_ADD, fd, &event);
  }
  static void say(int fd, std::string_view text) {
    while (!text.empty()) {
      const ssize_t sent = ::send(fd, text.data(), text.size(), MSG_NOSIGNAL);
      if (sent <= 0) return;
      text.remove_prefix(static_cast<std::size_t>(sent));
    }
  }
  void welcome() {
    const int fd = ::accept4(listener_, nullptr, nullptr, SOCK_CLOEXEC);
    const int on = 1;
    ::setsockopt(fd, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
    watch(fd);
    say(fd, "220 Hello.\r\n");
  }
  void hear(int fd) {
    char line[512];
    const ssize_t got = ::recv(fd, line, sizeof line, 0);
    if (got <= 0) {
      if (const auto port = ports_.find(fd); port != ports_.end()) {
        ::close(port->second);
        ports_.erase(port);
      }
      ::close(fd);
      return;
    }
    const std::string_view said(line, static_cast<std::size_t>(got));
    if (said.starts_with("USER")) return say(fd, "331 Well?\r\n");
    if (said.starts_with("PASS")) return say(fd, "230 Welcome.\r\n");
    if (said.starts_with("EPSV")) {
      // The same port again and again, which costs least.
      if (!ports_.contains(fd)) ports_[fd] = listen_on(0, 1);
      return say(fd, fmt::format("229 Here (|||{}|)\r\n", port_of(ports_[fd])));
    }
    if (said.starts_with("RETR")) {
      const int data = ::accept4(ports_[fd], nullptr, nullptr, SOCK_CLOEXEC);
      if (said.find("large") == std::string_view::npos) {
        say(data, small_);
      } else {
        for (std::size_t sent = 0; sent < large_size_; sent += piece_.size()) say(data, piece_);
      }
      ::close(data);
      return say(fd, "150 Here.\r\n226 Done.\r\n");
    }
    if (said.starts_with("STOR")) {
      say(fd, "150 Send.\r\n");
      const int data = ::accept4(ports_[fd], nullptr, nullptr, SOCK_CLOEXEC);
      while (::recv(data, piece_.data(), piece_.size(), 0) > 0) {
      }
      ::close(data);
      return say(fd, "226 Done.\r\n");
    }
    say(fd, "200 Yes.\r\n");
  }

  int listener_;
  int epoll_ = -1;
  std::map<int, int> ports_;
  std::string small_;
  std::size_t large_size_;
  std::string piece_ = std::string(std::size_t{1} << 20, 'x');
};

// ---- the usual ones ----

std::string on_path(const std::string& program) {
  const char* path = std::getenv("PATH");
  std::istringstream folders(std::string(path == nullptr ? "" : path) + ":/usr/sbin");
  for (std::string folder; std::getline(folders, folder, ':');) {
    if (::access((folder + "/" + program).c_str(), X_OK) == 0) return folder + "/" + program;
  }
  return "";
}

void end_with_bench() {
  ::setpgid(0, 0);
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
}

pid_t start(const std::vector<std::string>& words) {
  const pid_t pid = ::fork();
  if (pid != 0) return pid;
  end_with_bench();
  const int quiet = ::open("/dev/null", O_RDWR);
  for (int fd = 0; fd < 3; ++fd) ::dup2(quiet, fd);
  std::vector<char*> arguments;
  for (const auto& word : words) arguments.push_back(const_cast<char*>(word.c_str()));
  arguments.push_back(nullptr);
  ::execv(arguments[0], arguments.data());
  ::_exit(127);
}

struct Process {
  pid_t pid;
  double ticks;  // of the processor, its own and those of children that have ended
};

// A process and all that it started (proc(5)).
std::vector<Process> family_of(pid_t root) {
  std::map<pid_t, pid_t> parents;
  std::vector<Process> all;
  for (const auto& entry : fsys::directory_iterator("/proc")) {
    const std::string name = entry.path().filename();
    if (name.find_first_not_of("0123456789") != std::string::npos) continue;
    std::ifstream status(entry.path() / "stat");
    const std::string text((std::istreambuf_iterator<char>(status)), {});
    const auto end = text.rfind(')');
    if (end == std::string::npos) continue;
    std::istringstream rest(text.substr(end + 1));
    std::string word;
    pid_t parent = 0;
    rest >> word >> parent;
    Process process{static_cast<pid_t>(std::stol(name)), 0};
    for (int field = 5; field <= 17 && rest >> word; ++field) {
      if (field >= 14) process.ticks += std::stod(word);
    }
    parents[process.pid] = parent;
    all.push_back(process);
  }
  std::erase_if(all, [&](const Process& process) {
    pid_t each = process.pid;
    while (each != root && each > 1 && parents.contains(each)) each = parents[each];
    return each != root;
  });
  return all;
}

constexpr const char* password = "mill-race";
// The same in the oldest form of crypt(5) that all know, which costs them least.
constexpr const char* hashed_password = "$1$tidewrac$PGn.91z/S24tRerjmcpwp1";

std::unique_ptr<FtpServer> usual(const std::string& name, const std::string& user) {
  auto server = std::make_unique<FtpServer>();
  server->name = name;
  server->port = free_port();
  server->user = user;
  server->password = password;
  server->small = "/small";
  server->large = "/large";
  server->fresh = "/up/" + name;
  return server;
}

}  // namespace

FtpServer::~FtpServer() {
  if (pid <= 0) return;
  ::kill(-pid, SIGKILL);
  ::kill(pid, SIGKILL);
  ::waitpid(pid, nullptr, 0);
}

std::uint16_t free_port() {
  const int fd = listen_on(0, 1);
  const std::uint16_t port = port_of(fd);
  ::close(fd);
  return port;
}

double proportional_mib(pid_t root) {
  double kib = 0;
  for (const Process& each : family_of(root)) {
    std::ifstream rollup(fmt::format("/proc/{}/smaps_rollup", each.pid));
    std::string word;
    double value = 0;
    while (rollup >> word) {
      if (word == "Pss:" && rollup >> value) {
        kib += value;
        break;
      }
    }
  }
  return kib / 1024;
}

double processor_seconds(pid_t root) {
  double ticks = 0;
  for (const Process& each : family_of(root)) ticks += each.ticks;
  return ticks / static_cast<double>(::sysconf(_SC_CLK_TCK));
}

std::unique_ptr<FtpServer> bare_server(const std::string& small, std::size_t large_size) {
  auto server = std::make_unique<FtpServer>();
  const int listener = listen_on(0, 1024);
  server->name = "bare, from memory";
  server->port = port_of(listener);
  server->user = server->password = "x";
  server->small = "small";
  server->large = "large";
  server->fresh = "fresh";
  server->pid = ::fork();
  if (server->pid == 0) {
    end_with_bench();
    Bare(listener, small, large_size).run();
  }
  ::close(listener);
  return server;
}

std::vector<std::unique_ptr<FtpServer>> usual_servers(const std::string& folder,
                                                      const std::string& small,
                                                      const std::string& large) {
  const std::string root = folder + "/root";
  const std::string up = root + "/up";
  fsys::create_directories(up);
  fsys::create_directory(folder + "/empty");
  fsys::create_hard_link(small, root + "/small");
  fsys::create_hard_link(large, root + "/large");
  // They give up their rights for those of somebody with few.
  fsys::permissions(up, fsys::perms::all);
  std::vector<std::unique_ptr<FtpServer>> out;
  const auto add = [&](std::unique_ptr<FtpServer> server, const std::vector<std::string>& words) {
    server->pid = start(words);
    if (answers(server->port)) {
      out.push_back(std::move(server));
    } else {
      fmt::print("{} does not start; left out.\n", server->name);
    }
  };
  const auto missing = [](const std::string& name) {
    fmt::print("{} is not there; left out.\n", name);
  };

  if (const auto program = on_path("vsftpd"); !program.empty()) {
    auto server = usual("vsftpd", "anonymous");
    const std::string settings = folder + "/vsftpd.conf";
    std::ofstream(settings) << "listen=YES\nbackground=NO\nlisten_address=127.0.0.1\nlisten_port="
                            << server->port
                            << "\nanonymous_enable=YES\nftp_username=daemon\nanon_root=" << root
                            << "\nwrite_enable=YES\nanon_upload_enable=YES\n"
                            << "anon_other_write_enable=YES\nanon_world_readable_only=NO\n"
                            << "secure_chroot_dir=" << folder << "/empty\nseccomp_sandbox=NO\n"
                            << "max_per_ip=0\nmax_clients=0\nxferlog_enable=NO\n";
    add(std::move(server), {program, settings});
  } else {
    missing("vsftpd");
  }

  if (const auto program = on_path("proftpd"); !program.empty()) {
    auto server = usual("proftpd", "bench");
    const std::string settings = folder + "/proftpd.conf";
    const std::string users = folder + "/proftpd.users";
    std::ofstream(users) << "bench:" << hashed_password << ":65534:65534::" << root << ":/bin/sh\n";
    fsys::permissions(users, fsys::perms::owner_read | fsys::perms::owner_write);
    std::ofstream(settings)
        << "ServerType standalone\nPort " << server->port
        << "\nDefaultAddress 127.0.0.1\nUser nobody\nGroup nogroup\n"
        << "AuthUserFile " << users << "\nAuthOrder mod_auth_file.c\n"
        << "RequireValidShell off\nDefaultRoot ~\nMaxInstances none\n"
        << "MaxClients none\nMaxClientsPerHost none\nWtmpLog off\n"
        << "AllowOverwrite on\nTransferLog none\nUseReverseDNS off\nDelayEngine off\n"
        << "ScoreboardFile " << folder << "/scoreboard\nPidFile " << folder
        << "/proftpd.pid\nSystemLog none\n";
    add(std::move(server), {program, "--nodaemon", "--config", settings});
  } else {
    missing("proftpd");
  }

  const auto program = on_path("pure-ftpd");
  const auto pure_pw = on_path("pure-pw");
  if (!program.empty() && !pure_pw.empty()) {
    auto server = usual("pure-ftpd", "bench");
    const std::string users = folder + "/pure";
    std::ofstream(users + ".passwd")
        << "bench:" << hashed_password << ":65534:65534::" << root << "/./::::::::::::\n";
    const std::string make = fmt::format("{} mkdb {}.pdb -f {}.passwd", pure_pw, users, users);
    if (std::system(make.c_str()) != 0) fmt::print("pure-pw fails.\n");
    add(std::move(server), {program, "-S", fmt::format("127.0.0.1,{}", server->port), "-l",
                            "puredb:" + users + ".pdb", "-E", "-H", "-c", "1000", "-C", "1000",
                            "-u", "1", "-A", "-k", "100", "-g", folder + "/pure.pid"});
  } else {
    missing("pure-ftpd");
  }
  return out;
}

}  // namespace stationer::bench
