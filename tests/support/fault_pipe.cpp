// A line that makes mistakes, between the one on standard input and output and a program that
// speaks over it:
//
//   fault_pipe SEED FAULTS COMMAND
//
// FAULTS are "clean", or chances for each byte either way, and codes that never arrive:
//
//   drop=0.0002,repeat=0.0002,invert=0.0002,delay=0.0002,eat
//
//   drop     the byte is lost         invert   one of its bits is turned
//   repeat   it comes twice           delay    it and what follows come up to half a second later
//   eat      00 to 1F never arrive, but for SOH and CR, without which no Kermit can be; DEL does,
//            because a Kermit that makes packets longer by one than it may says their length by it
//
// COMMAND is run by the shell with a terminal of its own, raw, whose name is also in $LINE. Ends
// with its status. The same seed makes the same mistakes of the same bytes.
#include <algorithm>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <random>
#include <string>
#include <string_view>
#include <utility>

#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

namespace {

using Clock = std::chrono::steady_clock;
using namespace std::chrono_literals;

[[noreturn]] void fail(const std::string& why) {
  std::fprintf(stderr, "fault_pipe: %s\n", why.c_str());
  std::exit(1);
}

struct Faults {
  double drop = 0;
  double repeat = 0;
  double invert = 0;
  double delay = 0;
  bool eat = false;
};

Faults faults_from(std::string_view words) {
  Faults faults;
  while (!words.empty()) {
    const std::string word(words.substr(0, words.find(',')));
    words.remove_prefix(std::min(word.size() + 1, words.size()));
    const std::size_t equals = word.find('=');
    const std::string name = word.substr(0, equals);
    const double chance = equals == std::string::npos ? 0 : std::stod(word.substr(equals + 1));
    if (name == "drop") {
      faults.drop = chance;
    } else if (name == "repeat") {
      faults.repeat = chance;
    } else if (name == "invert") {
      faults.invert = chance;
    } else if (name == "delay") {
      faults.delay = chance;
    } else if (name == "eat") {
      faults.eat = true;
    } else if (name != "clean") {
      fail("no such fault: " + name);
    }
  }
  return faults;
}

// One direction: what came in, spoilt, until it is written.
class Way {
 public:
  Way(int from, int to, const Faults& faults, unsigned seed)
      : from_(from), to_(to), faults_(faults), random_(seed) {}

  bool ended() const { return ended_; }
  bool is_late(Clock::time_point now) const { return now < held_until_; }
  Clock::time_point held_until() const { return held_until_; }
  bool has_room() const { return !ended_ && waiting_.size() < most_waiting; }
  bool has_bytes() const { return !waiting_.empty(); }
  int from() const { return from_; }
  int to() const { return to_; }

  void read() {
    char buffer[1024];
    const ssize_t got = ::read(from_, buffer, sizeof buffer);
    if (got <= 0) {
      ended_ = got == 0 || (errno != EAGAIN && errno != EINTR);
      return;
    }
    for (ssize_t i = 0; i < got; ++i) put(buffer[i]);
  }

  void write() {
    const std::size_t most = held_at_ > 0 ? held_at_ : waiting_.size();
    const ssize_t wrote = ::write(to_, waiting_.data(), most);
    if (wrote <= 0) {
      ended_ = errno != EAGAIN && errno != EINTR;
      return;
    }
    const auto size = static_cast<std::size_t>(wrote);
    waiting_.erase(0, size);
    held_at_ -= std::min(held_at_, size);
    if (held_at_ == 0 && hold_next_ > 0ms) {
      held_until_ = Clock::now() + std::exchange(hold_next_, 0ms);
    }
  }

 private:
  static constexpr std::size_t most_waiting = 4096;

  void put(char byte) {
    const bool control = static_cast<unsigned char>(byte) < 0x20;
    if (faults_.eat && control && byte != '\1' && byte != '\r') return;
    double dice = std::uniform_real_distribution<double>(0, 1)(random_);
    const auto strikes = [&dice](double chance) {
      dice -= chance;
      return dice < 0 && dice >= -chance;
    };
    if (strikes(faults_.drop)) return;
    if (strikes(faults_.repeat)) waiting_ += byte;
    if (strikes(faults_.invert)) byte = static_cast<char>(byte ^ 1 << random_() % 8);
    if (strikes(faults_.delay)) {
      const auto late = std::chrono::milliseconds(random_() % 500);
      if (hold_next_ == 0ms) {
        held_at_ = waiting_.size();
        if (held_at_ == 0) {
          held_until_ = Clock::now() + late;
        } else {
          hold_next_ = late;
        }
      }
    }
    waiting_ += byte;
  }

  const int from_;
  const int to_;
  const Faults faults_;
  std::mt19937 random_;
  std::string waiting_;
  std::size_t held_at_ = 0;  // so many of the waiting bytes go before the pause
  std::chrono::milliseconds hold_next_{0};
  Clock::time_point held_until_{};
  bool ended_ = false;
};

// A terminal for the program, and the program on it.
pid_t start(const char* command, int& master) {
  termios raw{};
  cfmakeraw(&raw);
  raw.c_cflag |= CREAD | CLOCAL;
  char name[64] = {};
  const pid_t child = forkpty(&master, name, &raw, nullptr);
  if (child < 0) fail("no terminal for a program");
  if (child == 0) {
    setenv("LINE", ttyname(STDIN_FILENO), 1);
    execl("/bin/sh", "sh", "-c", command, static_cast<char*>(nullptr));
    _exit(127);
  }
  return child;
}

// What is held up on the way to the program is lost with it; what it said last is not.
int move_until_it_ends(pid_t child, Way& to_program, Way& to_line) {
  int status = 0;
  bool over = false;
  while (!over || (to_line.has_bytes() && !to_line.ended())) {
    const auto now = Clock::now();
    int timeout = 100;
    pollfd ready[4] = {{-1, POLLIN, 0}, {-1, POLLOUT, 0}, {-1, POLLIN, 0}, {-1, POLLOUT, 0}};
    Way* ways[2] = {&to_program, &to_line};
    for (int i = 0; i < 2; ++i) {
      if (ways[i]->has_room() && !(over && i == 0)) ready[2 * i].fd = ways[i]->from();
      if (ways[i]->is_late(now)) {
        timeout = std::min(
            timeout,
            static_cast<int>(
                std::chrono::ceil<std::chrono::milliseconds>(ways[i]->held_until() - now).count()));
      } else if (ways[i]->has_bytes()) {
        ready[2 * i + 1].fd = ways[i]->to();
      }
    }
    ::poll(ready, 4, timeout);
    for (int i = 0; i < 2; ++i) {
      if ((ready[2 * i].revents & (POLLIN | POLLHUP | POLLERR)) != 0) ways[i]->read();
      if ((ready[2 * i + 1].revents & (POLLOUT | POLLHUP | POLLERR)) != 0) ways[i]->write();
    }
    if (to_program.ended() && !over) ::kill(child, SIGHUP);  // the line is gone
    if (!over &&
        ::waitpid(child, &status, to_line.ended() || to_program.ended() ? 0 : WNOHANG) == child) {
      over = true;
      while (to_line.has_room()) to_line.read();  // up to the terminal's end
    }
  }
  return WIFEXITED(status) ? WEXITSTATUS(status) : 1;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4) fail("usage: fault_pipe SEED FAULTS COMMAND");
  const auto seed = static_cast<unsigned>(std::stoul(argv[1]));
  const Faults faults = faults_from(argv[2]);
  int master = -1;
  const pid_t child = start(argv[3], master);
  ::fcntl(master, F_SETFL, ::fcntl(master, F_GETFL) | O_NONBLOCK);
  Way to_program(STDIN_FILENO, master, faults, 2 * seed);
  Way to_line(master, STDOUT_FILENO, faults, 2 * seed + 1);
  return move_until_it_ends(child, to_program, to_line);
}
