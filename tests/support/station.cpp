// A station for end-to-end tests: a line to the service, by TCP or by a terminal device, on which a
// script from standard input types, waits, and lets programs use the line as theirs.
//
//   station HOST PORT    or    station DEVICE
//
// The script's lines:
//   > TEXT       types TEXT and Enter (a carriage return)
//   ? TEXT       waits until TEXT has come
//   : TEXT       waits until a line with TEXT has ended
//   ! COMMAND    runs it by the shell, with the line as its standard input and output
//
// What came is copied to standard output, except while a program has the line. Ends with 0 when the
// script is through; with 1 and a sentence when something did not come in half a minute, or a
// program failed.
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <iostream>
#include <string>

#include <fcntl.h>
#include <netdb.h>
#include <poll.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <termios.h>
#include <unistd.h>

namespace {

using Clock = std::chrono::steady_clock;
constexpr std::chrono::seconds patience{30};

[[noreturn]] void fail(const std::string& why) {
  std::cout.flush();
  std::fprintf(stderr, "station: %s\n", why.c_str());
  std::exit(1);
}

int dial(const char* host, const char* port) {
  addrinfo hints{};
  hints.ai_socktype = SOCK_STREAM;
  addrinfo* found = nullptr;
  if (getaddrinfo(host, port, &hints, &found) != 0) fail("no such address");
  const int line = socket(found->ai_family, SOCK_STREAM, 0);
  if (line < 0 || connect(line, found->ai_addr, found->ai_addrlen) != 0) fail("no connection");
  freeaddrinfo(found);
  return line;
}

int open_device(const char* name) {
  const int line = open(name, O_RDWR | O_NOCTTY | O_CLOEXEC);
  termios how{};
  if (line < 0 || tcgetattr(line, &how) != 0) fail(std::string("cannot use ") + name);
  cfmakeraw(&how);
  if (tcsetattr(line, TCSANOW, &how) != 0) fail(std::string("cannot set up ") + name);
  return line;
}

void type(int line, const std::string& text) {
  for (std::size_t done = 0; done < text.size();) {
    const ssize_t wrote = write(line, text.data() + done, text.size() - done);
    if (wrote <= 0) fail("the line does not take what is typed");
    done += static_cast<std::size_t>(wrote);
  }
}

// One byte at a time, so that nothing is taken that a program is to hear.
void wait_for(int line, const std::string& text, bool whole_line) {
  std::string heard;
  const auto end = Clock::now() + patience;
  while (heard.find(text) == std::string::npos || (whole_line && !heard.ends_with('\n'))) {
    const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(end - Clock::now());
    pollfd ready{line, POLLIN, 0};
    char byte = 0;
    if (left.count() <= 0 || poll(&ready, 1, static_cast<int>(left.count())) <= 0) {
      fail("waited in vain for \"" + text + "\"");
    }
    if (read(line, &byte, 1) != 1) fail("the line ended before \"" + text + "\"");
    std::cout << byte;
    heard += byte;
  }
  std::cout.flush();
}

void run(int line, const std::string& command) {
  const pid_t child = fork();
  if (child < 0) fail("no process for a program");
  if (child == 0) {
    dup2(line, STDIN_FILENO);
    dup2(line, STDOUT_FILENO);
    execl("/bin/sh", "sh", "-c", command.c_str(), static_cast<char*>(nullptr));
    _exit(127);
  }
  int status = 0;
  if (waitpid(child, &status, 0) != child || status != 0) {
    fail("ended with " + std::to_string(status) + ": " + command);
  }
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2 && argc != 3) fail("usage: station HOST PORT | station DEVICE");
  const int line = argc == 3 ? dial(argv[1], argv[2]) : open_device(argv[1]);
  for (std::string step; std::getline(std::cin, step);) {
    if (step.empty()) continue;
    const std::string rest = step.size() > 2 ? step.substr(2) : "";
    switch (step[0]) {
      case '>': type(line, rest + "\r"); break;
      case '?': wait_for(line, rest, false); break;
      case ':': wait_for(line, rest, true); break;
      case '!': run(line, rest); break;
      default: fail("no such step: " + step);
    }
  }
}
