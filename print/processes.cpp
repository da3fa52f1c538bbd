#include "print/processes.h"

#include <array>
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

// What a program has open.
class Files {
 public:
  Files() { ::posix_spawn_file_actions_init(&files_); }
  Files(const Files&) = delete;
  Files& operator=(const Files&) = delete;
  ~Files() { ::posix_spawn_file_actions_destroy(&files_); }

  void hand_over(int descriptor, int as) {
    ::posix_spawn_file_actions_adddup2(&files_, descriptor, as);
  }
  void open_nothing(int as) { ::posix_spawn_file_actions_addopen(&files_, as, nothing, O_RDWR, 0); }
  void keep_up_to(int last) { ::posix_spawn_file_actions_addclosefrom_np(&files_, last + 1); }
  void go_to(const char* folder) { ::posix_spawn_file_actions_addchdir_np(&files_, folder); }

  const posix_spawn_file_actions_t* get() const { return &files_; }

 private:
  posix_spawn_file_actions_t files_{};
};

struct Spawned {
  pid_t process = 0;
  int failed = 0;
};

// Signals to our terminal don't reach it, and it has none of our ways to take them. `name` is what
// lists of processes call it.
Spawned spawn(const std::string& program, const std::string& name,
              const std::vector<std::string>& words, const Files& files, char** variables) {
  posix_spawnattr_t attributes;
  ::posix_spawnattr_init(&attributes);
  ::posix_spawnattr_setflags(
      &attributes, POSIX_SPAWN_SETPGROUP | POSIX_SPAWN_SETSIGDEF | POSIX_SPAWN_SETSIGMASK);
  sigset_t signals;
  ::sigemptyset(&signals);
  ::posix_spawnattr_setsigmask(&attributes, &signals);
  ::sigfillset(&signals);
  ::posix_spawnattr_setsigdefault(&attributes, &signals);

  std::vector<std::string> kept{name};
  kept.insert(kept.end(), words.begin(), words.end());
  std::vector<char*> arguments;
  for (std::string& word : kept) arguments.push_back(word.data());
  arguments.push_back(nullptr);
  Spawned out;
  out.failed = ::posix_spawn(&out.process, program.c_str(), files.get(), &attributes,
                             arguments.data(), variables);
  ::posix_spawnattr_destroy(&attributes);
  return out;
}

}  // namespace

std::string own_program() {
  return "/proc/self/exe";
}

fs::Result<int> start_process(const std::string& program, const std::vector<std::string>& words,
                              int descriptor) {
  Files files;
  files.hand_over(descriptor, handed_over);
  files.open_nothing(STDIN_FILENO);
  files.open_nothing(STDOUT_FILENO);
  files.keep_up_to(handed_over);
  const Spawned spawned = spawn(program, "stationer", words, files, environ);
  if (spawned.failed != 0) return host_error("start the printing process", spawned.failed);
  return spawned.process;
}

fs::Result<int> start_host_program(const std::string& program,
                                   const std::vector<std::string>& words, int descriptor) {
  const std::string path = "/usr/bin/" + program;
  Files files;
  files.hand_over(descriptor, STDIN_FILENO);
  files.hand_over(descriptor, STDOUT_FILENO);
  files.open_nothing(STDERR_FILENO);
  files.keep_up_to(STDERR_FILENO);
  files.go_to("/");
  std::string search = "PATH=/usr/bin:/bin";
  std::array<char*, 2> variables{search.data(), nullptr};
  const Spawned spawned = spawn(path, path, words, files, variables.data());
  if (spawned.failed == ENOENT) {
    return fs::Error{fs::Code::not_found, fmt::format("The program {} is not installed.", program)};
  }
  if (spawned.failed != 0) return host_error("start a program", spawned.failed);
  return spawned.process;
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

Ending await_process(int process) {
  int status = 0;
  while (::waitpid(process, &status, 0) < 0) {
    if (errno != EINTR) return {};
  }
  if (WIFSIGNALED(status)) return {Ending::How::killed, WTERMSIG(status)};
  return {Ending::How::left, WEXITSTATUS(status)};
}

Ending end_process(int process) {
  ::kill(process, SIGKILL);
  return await_process(process);
}

}  // namespace stationer::print
