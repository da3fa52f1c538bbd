#include "print/processes.h"

#include <cerrno>
#include <csignal>
#include <cstring>

#include <fcntl.h>
#include <fmt/format.h>
#include <spawn.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

namespace stationer::print {
namespace {

constexpr const char* nothing = "/dev/null";

fs::Error host_error(std::string_view what, int error) {
  return {fs::Code::io, fmt::format("The host could not {}: {}.", what, std::strerror(error))};
}

// In a copy: all descriptors but one go, and the standard ones lead nowhere.
void keep_only(int descriptor) {
  const int null = ::open(nothing, O_RDWR | O_CLOEXEC);
  for (int standard = STDIN_FILENO; standard <= STDERR_FILENO; ++standard) {
    ::dup2(null, standard);
  }
  const auto first = static_cast<unsigned>(STDERR_FILENO + 1);
  const auto kept = static_cast<unsigned>(descriptor);
  if (kept > first) ::close_range(first, kept - 1, 0);
  ::close_range(kept + 1, ~0U, 0);
}

}  // namespace

std::string own_program() {
  return "/proc/self/exe";
}

fs::Result<int> start_process(const std::string& program, const std::vector<std::string>& words,
                              int descriptor) {
  posix_spawn_file_actions_t files;
  ::posix_spawn_file_actions_init(&files);
  ::posix_spawn_file_actions_adddup2(&files, descriptor, handed_over);
  ::posix_spawn_file_actions_addopen(&files, STDIN_FILENO, nothing, O_RDONLY, 0);
  ::posix_spawn_file_actions_addopen(&files, STDOUT_FILENO, nothing, O_WRONLY, 0);
  ::posix_spawn_file_actions_addclosefrom_np(&files, handed_over + 1);

  posix_spawnattr_t attributes;
  ::posix_spawnattr_init(&attributes);
  ::posix_spawnattr_setflags(
      &attributes, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGDEF | POSIX_SPAWN_SETSIGMASK);
  sigset_t signals;
  ::sigemptyset(&signals);
  ::posix_spawnattr_setsigmask(&attributes, &signals);
  ::sigfillset(&signals);
  ::posix_spawnattr_setsigdefault(&attributes, &signals);

  std::vector<std::string> kept{"stationer"};  // as it is called in lists of processes
  kept.insert(kept.end(), words.begin(), words.end());
  std::vector<char*> arguments;
  for (std::string& word : kept) arguments.push_back(word.data());
  arguments.push_back(nullptr);
  pid_t process = 0;
  const int failed =
      ::posix_spawn(&process, program.c_str(), &files, &attributes, arguments.data(), environ);
  ::posix_spawn_file_actions_destroy(&files);
  ::posix_spawnattr_destroy(&attributes);
  if (failed != 0) return host_error("start the printing process", failed);
  return process;
}

fs::Result<int> copy_process(int descriptor, const std::function<int()>& work) {
  const pid_t original = ::getpid();
  const pid_t process = ::fork();
  if (process < 0) return host_error("make a process for a print job", errno);
  if (process > 0) return process;
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (::getppid() != original) ::_exit(EXIT_FAILURE);  // it was over before we asked to be told
  keep_only(descriptor);
  ::_exit(work());
}

Ending end_process(int process) {
  ::kill(process, SIGKILL);
  int status = 0;
  while (::waitpid(process, &status, 0) < 0) {
    if (errno != EINTR) return {};
  }
  if (WIFSIGNALED(status)) return {Ending::How::killed, WTERMSIG(status)};
  return {Ending::How::left, WEXITSTATUS(status)};
}

}  // namespace stationer::print
