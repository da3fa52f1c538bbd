#include "print/host_tool.h"

#include <array>
#include <cerrno>
#include <csignal>
#include <cstring>

#include <fmt/format.h>
#include <poll.h>
#include <spawn.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

namespace stationer::print {
namespace {

using fs::Code;
using fs::Error;
using fs::Status;
using Clock = std::chrono::steady_clock;

constexpr std::size_t piece = std::size_t{64} << 10;

Error host_error(std::string_view what) {
  return {Code::io, fmt::format("The host could not {}: {}.", what, std::strerror(errno))};
}

// Both ends of what is the program's standard input and output.
class Ends {
 public:
  Status open() {
    if (::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends_.data()) == 0) return {};
    ends_ = {-1, -1};
    return host_error("make a pair of sockets");
  }
  ~Ends() {
    close_theirs();
    if (ends_[0] >= 0) ::close(ends_[0]);
  }
  int ours() const { return ends_[0]; }
  int theirs() const { return ends_[1]; }
  void close_theirs() {
    if (ends_[1] >= 0) ::close(ends_[1]);
    ends_[1] = -1;
  }

 private:
  std::array<int, 2> ends_{-1, -1};
};

// A program at work; it is over when this is.
class Tool {
 public:
  ~Tool() { static_cast<void>(end()); }

  Status start(const std::string& program, const std::vector<std::string>& words, int standard) {
    posix_spawn_file_actions_t files;
    ::posix_spawn_file_actions_init(&files);
    ::posix_spawn_file_actions_adddup2(&files, standard, STDIN_FILENO);
    ::posix_spawn_file_actions_adddup2(&files, standard, STDOUT_FILENO);
    ::posix_spawn_file_actions_addopen(&files, STDERR_FILENO, "/dev/null", 1 /* to write */, 0);
    ::posix_spawn_file_actions_addclosefrom_np(&files, STDERR_FILENO + 1);
    ::posix_spawn_file_actions_addchdir_np(&files, "/");
    posix_spawnattr_t attributes;
    ::posix_spawnattr_init(&attributes);
    ::posix_spawnattr_setflags(
        &attributes, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGDEF | POSIX_SPAWN_SETSIGMASK);
    sigset_t signals;
    ::sigemptyset(&signals);
    ::posix_spawnattr_setsigmask(&attributes, &signals);
    ::sigfillset(&signals);
    ::posix_spawnattr_setsigdefault(&attributes, &signals);

    std::vector<std::string> kept{"/usr/bin/" + program};
    kept.insert(kept.end(), words.begin(), words.end());
    std::vector<char*> arguments;
    for (std::string& word : kept) arguments.push_back(word.data());
    arguments.push_back(nullptr);
    std::string path = "PATH=/usr/bin:/bin";
    std::array<char*, 2> variables{path.data(), nullptr};
    const int failed = ::posix_spawn(&process_, kept.front().c_str(), &files, &attributes,
                                     arguments.data(), variables.data());
    ::posix_spawn_file_actions_destroy(&files);
    ::posix_spawnattr_destroy(&attributes);
    if (failed == 0) return {};
    process_ = 0;
    errno = failed;
    if (failed != ENOENT) return host_error("start a program");
    return Error{Code::not_found, fmt::format("The program {} is not installed.", program)};
  }

  // Before it has been given anything that could make it go wrong.
  void limit(const ToolLimits& limits) const {
    const auto set = [&](auto which, rlim_t most) {
      const rlimit limit{most, most};
      static_cast<void>(::prlimit(process_, which, &limit, nullptr));
    };
    set(RLIMIT_AS, limits.memory);
    set(RLIMIT_CPU, static_cast<rlim_t>(limits.processor.count()));
    set(RLIMIT_FSIZE, 0);
    set(RLIMIT_CORE, 0);
  }

  // Waits for its end, or makes it; whether it left by itself and was content.
  bool end(bool kill = true) {
    if (process_ == 0) return false;
    if (kill) ::kill(process_, SIGKILL);
    int status = 0;
    while (::waitpid(process_, &status, 0) < 0) {
      if (errno != EINTR) break;
    }
    process_ = 0;
    return WIFEXITED(status) && WEXITSTATUS(status) == 0;
  }

 private:
  pid_t process_ = 0;
};

}  // namespace

Status run_host_tool(const std::string& program, const std::vector<std::string>& words,
                     const ByteSource& in, const ByteSink& out, const ToolLimits& limits) {
  Ends ends;
  if (auto opened = ends.open(); !opened) return opened;
  Tool tool;
  if (auto started = tool.start(program, words, ends.theirs()); !started) return started;
  ends.close_theirs();
  tool.limit(limits);

  const auto until = Clock::now() + limits.patience;
  std::string buffer(piece, '\0');
  std::string_view left;  // of what is to be sent
  std::string sending(piece, '\0');
  bool sent_all = false;
  for (;;) {
    if (!sent_all && left.empty()) {
      auto got = in(sending);
      if (!got) return got.error();
      left = std::string_view(sending).substr(0, *got);
      if (left.empty()) {
        sent_all = true;
        ::shutdown(ends.ours(), SHUT_WR);
      }
    }
    const auto patience =
        std::chrono::duration_cast<std::chrono::milliseconds>(until - Clock::now());
    pollfd wait{ends.ours(), static_cast<short>(sent_all ? POLLIN : POLLIN | POLLOUT), 0};
    const int ready =
        patience.count() <= 0 ? 0 : ::poll(&wait, 1, static_cast<int>(patience.count()));
    if (ready < 0 && errno == EINTR) continue;
    if (ready < 0) return host_error("wait for a program");
    if (ready == 0) {
      return Error{Code::damaged, fmt::format("{} took too long.", program)};
    }
    if ((wait.revents & (POLLIN | POLLHUP | POLLERR)) != 0) {
      const ssize_t got = ::recv(ends.ours(), buffer.data(), buffer.size(), MSG_DONTWAIT);
      if (got == 0) break;  // it closed its output
      if (got < 0 && errno != EAGAIN && errno != EINTR && errno != ECONNRESET) {
        return host_error("read from a program");
      }
      if (got < 0 && errno == ECONNRESET) break;
      if (got > 0) {
        auto taken = out(std::string_view(buffer).substr(0, static_cast<std::size_t>(got)));
        if (!taken) return taken;
        continue;
      }
    }
    if (!left.empty() && (wait.revents & POLLOUT) != 0) {
      const ssize_t sent =
          ::send(ends.ours(), left.data(), left.size(), MSG_DONTWAIT | MSG_NOSIGNAL);
      // When it wants no more, what it has to say is still to be heard.
      if (sent < 0 && errno != EAGAIN && errno != EINTR) {
        left = {};
        sent_all = true;
      } else if (sent > 0) {
        left.remove_prefix(static_cast<std::size_t>(sent));
      }
    }
  }
  if (!tool.end(false)) {
    return Error{Code::damaged, fmt::format("{} could not do it.", program)};
  }
  return {};
}

}  // namespace stationer::print
