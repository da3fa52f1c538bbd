#include "print/host_tool.h"

#include <array>
#include <cerrno>
#include <cstring>
#include <utility>

#include <fmt/format.h>
#include <poll.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <unistd.h>

#include "print/processes.h"

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
  ~Tool() {
    if (process_ != 0) end_process(process_);
  }

  Status start(const std::string& program, const std::vector<std::string>& words, int standard) {
    auto started = start_host_program(program, words, standard);
    if (!started) return started.error();
    process_ = *started;
    return {};
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

  // Waits for its end; whether it left by itself and was content.
  bool await() {
    const Ending ending = await_process(std::exchange(process_, 0));
    return ending.how == Ending::How::left && ending.number == 0;
  }

 private:
  int process_ = 0;
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
  if (!tool.await()) {
    return Error{Code::damaged, fmt::format("{} could not do it.", program)};
  }
  return {};
}

}  // namespace stationer::print
