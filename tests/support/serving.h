// The service as a process of its own, to be stopped or killed.
#pragma once

#include <csignal>
#include <cstdio>
#include <map>
#include <sstream>
#include <string>

#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

namespace stationer::test {

class Serving {
 public:
  // Starts `program serve --volume volume` and waits for "ready". is_ready() tells whether it came.
  Serving(const std::string& program, const std::string& volume) {
    int ends[2];
    if (::pipe2(ends, O_CLOEXEC) != 0) return;
    pid_ = ::fork();
    if (pid_ == 0) {
      ::dup2(ends[1], STDOUT_FILENO);
      const int quiet =
          ::open((volume + "/../serve.err").c_str(), O_WRONLY | O_CREAT | O_APPEND, 0644);
      if (quiet >= 0) ::dup2(quiet, STDERR_FILENO);
      ::execl(program.c_str(), program.c_str(), "serve", "--volume", volume.c_str(), nullptr);
      ::_exit(127);
    }
    ::close(ends[1]);
    FILE* lines = ::fdopen(ends[0], "r");
    char line[256];
    while (lines != nullptr && std::fgets(line, sizeof line, lines) != nullptr) {
      std::istringstream words(line);
      std::string first, name, address;
      int port = 0;
      words >> first >> name >> address >> port;
      if (first == "door") ports_[name] = static_cast<std::uint16_t>(port);
      if (first == "ready") {
        ready_ = true;
        break;
      }
    }
    if (lines != nullptr) std::fclose(lines);
  }
  Serving(const Serving&) = delete;
  Serving& operator=(const Serving&) = delete;
  ~Serving() { kill(); }

  bool is_ready() const { return ready_; }
  pid_t pid() const { return pid_; }
  std::uint16_t port(const std::string& door) const { return ports_.at(door); }

  void kill() { end(SIGKILL); }
  // The exit status after SIGTERM; -1 when it was killed by something else.
  int stop() { return end(SIGTERM); }

 private:
  int end(int signal) {
    if (pid_ <= 0) return -1;
    ::kill(pid_, signal);
    int status = 0;
    ::waitpid(pid_, &status, 0);
    pid_ = -1;
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  }

  pid_t pid_ = -1;
  bool ready_ = false;
  std::map<std::string, std::uint16_t> ports_;
};

}  // namespace stationer::test
