#include "tests/admin/process.h"

#include <algorithm>
#include <csignal>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <thread>

#include <catch2/catch.hpp>
#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <sys/wait.h>
#include <unistd.h>

#include "fs/volume.h"
#include "print/spool.h"
#include "server/config.h"
#include "tests/support/open_spool.h"
#include "tests/support/test_volume.h"

namespace stationer::test {
namespace {

using Clock = std::chrono::steady_clock;
constexpr std::chrono::seconds patience{20};

constexpr std::string_view settings = R"([print]
queue = "paper"

[queue.paper]
title = "Plain paper"

[queue.held]
title = "Asked for first"
policy = "leader"

[door.terminal]
address = "loopback"
port = 0

[door.lpd]
address = "loopback"
port = 0

[door.raw]
address = "loopback"
port = 0

[door.tftp]
address = "loopback"
port = 0

[door.time]
address = "loopback"
port = 0

[door.daytime]
address = "loopback"
port = 0

[door.http]
address = "loopback"
port = 0

[door.ftp]
address = "loopback"
port = 0
)";

[[noreturn]] void become_program(const std::vector<std::string>& words, const std::string& named) {
  ::setenv("TZ", "UTC", 1);
  if (named.empty()) {
    ::unsetenv("STATIONER_VOLUME");
  } else {
    ::setenv("STATIONER_VOLUME", named.c_str(), 1);
  }
  std::vector<std::string> all{STATIONER_PROGRAM};
  all.insert(all.end(), words.begin(), words.end());
  std::vector<char*> pointers;
  for (std::string& word : all) pointers.push_back(word.data());
  pointers.push_back(nullptr);
  ::execv(pointers.front(), pointers.data());
  ::_exit(127);
}

// The exit status; -1 when it had to be killed, or was.
int wait_for(pid_t pid) {
  const auto deadline = Clock::now() + patience;
  int status = 0;
  while (::waitpid(pid, &status, WNOHANG) == 0) {
    if (Clock::now() > deadline) {
      ::kill(pid, SIGKILL);
      ::waitpid(pid, &status, 0);
      return -1;
    }
    std::this_thread::sleep_for(std::chrono::milliseconds(2));
  }
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

std::string content_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

void redirect(int to, const std::string& path, int flags) {
  const int file = ::open(path.c_str(), flags, 0644);
  if (file < 0 || ::dup2(file, to) < 0) ::_exit(126);
  ::close(file);
}

}  // namespace

std::vector<std::string> words_of(std::string_view line) {
  std::vector<std::string> words;
  std::string word;
  bool quoted = false;
  bool in_word = false;
  const auto end_word = [&] {
    if (in_word) words.push_back(std::exchange(word, ""));
    in_word = false;
  };
  for (const char c : line) {
    if (c == '"') {
      quoted = !quoted;
      in_word = true;
    } else if (c == ' ' && !quoted) {
      end_word();
    } else if (c == '>' && !quoted) {
      break;
    } else {
      word += c;
      in_word = true;
    }
  }
  end_word();
  if (!words.empty() && words.front() == "stationer") words.erase(words.begin());
  return words;
}

void Keeper::make_volume(const std::vector<std::string>& jobs) {
  fs::Surroundings surroundings;
  surroundings.password_cost = cheap_password;
  auto volume = fs::Volume::create(Keeper::volume(), "Tidewrack Mill", surroundings, settings);
  REQUIRE(volume);
  const fs::Caller keeper = fs::keeper_at_the_box();
  TestVolume::done(
      (*volume)->people().add_account(keeper, {"wren", "", fs::Role::manager, "", "mill-race-1"}));
  const auto spool = open_spool(**volume, settings);
  for (const std::string& queue : jobs) {
    auto incoming = spool->receive(queue, "tides", fs::no_account, "", "a test");
    REQUIRE(incoming);
    REQUIRE(incoming->write("High water at noon.\r\n"));
    REQUIRE(incoming->finish());
    REQUIRE(spool->print_next());
  }
}

Said Keeper::run(const std::vector<std::string>& words, std::string_view input) const {
  // Beside the folder that the program is in, so that it does not see them.
  const TempFolder beside;
  std::ofstream(beside / "in", std::ios::binary) << input;
  const pid_t pid = ::fork();
  if (pid == 0) {
    redirect(STDIN_FILENO, beside / "in", O_RDONLY);
    redirect(STDOUT_FILENO, output.empty() ? beside / "out" : output, O_WRONLY | O_CREAT);
    redirect(STDERR_FILENO, beside / "err", O_WRONLY | O_CREAT);
    if (::chdir(folder_.path().c_str()) != 0) ::_exit(126);
    become_program(words, named);
  }
  REQUIRE(pid > 0);
  Said said;
  said.status = wait_for(pid);
  said.out = content_of(beside / "out");
  said.err = content_of(beside / "err");
  return said;
}

std::string Keeper::done(std::string_view line, std::string_view input) const {
  INFO("stationer " << line);
  const Said said = run(line, input);
  INFO(said.err);
  REQUIRE(said.status == 0);
  return said.out;
}

std::string Keeper::failed(std::string_view line, std::string_view input) const {
  INFO("stationer " << line);
  const Said said = run(line, input);
  INFO(said.err);
  CHECK(said.status == 1);
  CHECK(said.err.starts_with("stationer: "));
  CHECK(said.out.empty());
  return said.err;
}

void Keeper::write(const std::string& name, std::string_view bytes) const {
  std::ofstream(folder_ / name, std::ios::binary) << bytes;
}

std::string Keeper::read(const std::string& name) const {
  return content_of(folder_ / name);
}

std::vector<std::string> Keeper::names() const {
  std::vector<std::string> out;
  for (const auto& each : std::filesystem::directory_iterator(folder_.path())) {
    out.push_back(each.path().filename().string());
  }
  std::sort(out.begin(), out.end());
  return out;
}

// ---- a terminal ----

AtTerminal::AtTerminal(const Keeper& keeper, const std::vector<std::string>& words) {
  winsize size{};
  size.ws_col = 80;
  size.ws_row = 24;
  const std::string folder = keeper / ".";
  pid_ = ::forkpty(&terminal_, nullptr, nullptr, &size);
  if (pid_ == 0) {
    if (::chdir(folder.c_str()) != 0) ::_exit(126);
    become_program(words, keeper.named);
  }
  REQUIRE(pid_ > 0);
}

AtTerminal::~AtTerminal() {
  if (pid_ > 0) {
    ::kill(pid_, SIGKILL);
    ::waitpid(pid_, nullptr, 0);
  }
  ::close(terminal_);
}

bool AtTerminal::receive(Clock::time_point deadline) {
  const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(deadline - Clock::now());
  pollfd query{terminal_, POLLIN, 0};
  if (left.count() <= 0 || ::poll(&query, 1, static_cast<int>(left.count())) <= 0) return false;
  char piece[4096];
  const ssize_t got = ::read(terminal_, piece, sizeof piece);
  if (got <= 0) return false;  // EIO: the other end is closed
  seen_.append(piece, static_cast<std::size_t>(got));
  return true;
}

bool AtTerminal::sees(std::string_view text) {
  const auto deadline = Clock::now() + patience;
  for (;;) {
    const auto at = seen_.find(text, looked_at_);
    if (at != std::string::npos) {
      looked_at_ = at + text.size();
      return true;
    }
    if (!receive(deadline)) return false;
  }
}

void AtTerminal::types(std::string_view keys) const {
  CHECK(::write(terminal_, keys.data(), keys.size()) == static_cast<ssize_t>(keys.size()));
}

int AtTerminal::status() {
  const auto deadline = Clock::now() + patience;
  while (receive(deadline)) {
  }
  return wait_for(std::exchange(pid_, -1));
}

}  // namespace stationer::test
