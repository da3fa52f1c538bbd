#include "admin/host.h"

#include <algorithm>
#include <array>
#include <atomic>
#include <cerrno>
#include <climits>
#include <csignal>
#include <cstdio>
#include <cstring>
#include <utility>

#include <fcntl.h>
#include <fmt/format.h>
#include <grp.h>
#include <pwd.h>
#include <sys/ioctl.h>
#include <sys/stat.h>
#include <termios.h>
#include <unistd.h>

namespace stationer::admin {
namespace {

using fs::Code;
using fs::Error;
using fs::Status;

constexpr std::string_view standard_name = "-";
constexpr const char* standard_input = "standard input";
constexpr int no_limit = 10'000;  // columns
constexpr std::size_t longest_answer = 1024;
constexpr const char* service_settings = "/etc/default/stationer";
constexpr std::size_t longest_settings = 16 * 1024;
constexpr char ctrl_c = 3;
constexpr char ctrl_d = 4;

Error host_error(std::string_view doing, std::string_view name, int error) {
  Code code = Code::io;
  if (error == ENOENT) code = Code::not_found;
  if (error == EACCES || error == EPERM) code = Code::denied;
  if (error == ENOSPC || error == EDQUOT) code = Code::no_space;
  if (error == EEXIST) code = Code::exists;
  return {code, fmt::format("\"{}\" could not be {}: {}.", name, doing, std::strerror(error))};
}

Status write_all(int file, std::string_view name, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t done = ::write(file, bytes.data(), bytes.size());
    if (done < 0 && errno == EINTR) continue;
    if (done < 0) return host_error("written", name, errno);
    bytes.remove_prefix(static_cast<std::size_t>(done));
  }
  return {};
}

fs::Result<std::size_t> read_some(int file, std::string_view name, std::span<char> into) {
  for (;;) {
    const ssize_t done = ::read(file, into.data(), into.size());
    if (done < 0 && errno == EINTR) continue;
    if (done < 0) return host_error("read", name, errno);
    return static_cast<std::size_t>(done);
  }
}

Error already_there(std::string_view path) {
  return {Code::exists,
          fmt::format("There is already a file \"{}\". Name another, or add --replace.", path)};
}

// The terminal set to give each key as it is typed. Ctrl-C and its like are keys too, so that
// nothing can end the program while the terminal does not show what is typed.
class KeyByKey {
 public:
  KeyByKey() {
    if (::tcgetattr(STDIN_FILENO, &before_) != 0) return;
    termios changed = before_;
    changed.c_lflag &= ~static_cast<tcflag_t>(ECHO | ECHONL | ICANON | ISIG);
    changed.c_cc[VMIN] = 1;
    changed.c_cc[VTIME] = 0;
    set_ = ::tcsetattr(STDIN_FILENO, TCSAFLUSH, &changed) == 0;
  }
  KeyByKey(const KeyByKey&) = delete;
  KeyByKey& operator=(const KeyByKey&) = delete;
  ~KeyByKey() {
    if (set_) ::tcsetattr(STDIN_FILENO, TCSAFLUSH, &before_);
  }
  bool set() const { return set_; }
  bool erases(char key) const {
    return key == '\b' || key == '\x7f' || key == static_cast<char>(before_.c_cc[VERASE]);
  }
  bool erases_all(char key) const { return key == static_cast<char>(before_.c_cc[VKILL]); }

 private:
  termios before_{};
  bool set_ = false;
};

Error given_up() {
  return {Code::denied, "Given up; nothing was changed."};
}

}  // namespace

bool is_terminal(Standard which) {
  return ::isatty(static_cast<int>(which)) == 1;
}

int terminal_columns() {
  winsize size{};
  const bool known = ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col != 0;
  return is_terminal(Standard::output) && known ? size.ws_col : no_limit;
}

void show_on_error(std::string_view text) {
  static_cast<void>(write_all(STDERR_FILENO, "", text));
}

fs::Result<std::string> read_input_line(std::size_t most) {
  std::string line;
  for (;;) {
    char next = 0;
    auto got = read_some(STDIN_FILENO, standard_input, {&next, 1});
    if (!got) return got.error();
    if (*got == 0 && line.empty()) return Error{Code::not_found, "Standard input is empty."};
    if (*got == 0 || next == '\n') break;
    if (line.size() >= most) {
      return Error{Code::bad_input,
                   fmt::format("The line on standard input is longer than {} bytes.", most)};
    }
    line += next;
  }
  if (line.ends_with('\r')) line.pop_back();
  return line;
}

fs::Result<std::string> ask(std::string_view prompt) {
  if (!is_terminal(Standard::input)) {
    return Error{Code::denied, "There is no terminal to ask on."};
  }
  show_on_error(prompt);
  auto line = read_input_line(longest_answer);
  if (line) return line;
  show_on_error("\n");
  return given_up();
}

fs::Result<std::string> ask_hidden(std::string_view prompt) {
  const Error no_terminal{Code::denied, "There is no terminal to ask on."};
  if (!is_terminal(Standard::input)) return no_terminal;
  const KeyByKey keys;
  if (!keys.set()) return no_terminal;
  show_on_error(prompt);
  std::string answer;
  for (;;) {
    char key = 0;
    auto got = read_some(STDIN_FILENO, standard_input, {&key, 1});
    if (!got) return got.error();
    const bool end = *got == 0 || key == '\n' || key == '\r';
    if (end || key == ctrl_c || key == ctrl_d) {
      show_on_error("\n");
      if (*got == 0 || !end) return given_up();
      return answer;
    }
    if (keys.erases_all(key)) {
      answer.clear();
    } else if (keys.erases(key)) {
      // A whole character, which may be several bytes of UTF-8.
      while (!answer.empty() && (answer.back() & '\xC0') == '\x80') answer.pop_back();
      if (!answer.empty()) answer.pop_back();
    } else if (answer.size() < longest_answer) {
      answer += key;
    }
  }
}

// ---- descriptors ----

Descriptor::Descriptor(Descriptor&& other) noexcept : number_(std::exchange(other.number_, -1)) {}

Descriptor& Descriptor::operator=(Descriptor&& other) noexcept {
  std::swap(number_, other.number_);
  return *this;
}

Descriptor::~Descriptor() {
  if (number_ > STDERR_FILENO) ::close(number_);
}

// ---- the host's service ----

std::string installed_volume() {
  constexpr std::string_view key = "STATIONER_VOLUME=";
  const Descriptor file(::open(service_settings, O_RDONLY | O_CLOEXEC));
  if (file.number() < 0) return "";
  std::string text(longest_settings, '\0');
  const auto got = read_some(file.number(), service_settings, text);
  if (!got) return "";
  text.resize(*got);
  std::string found;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    const std::string_view line = std::string_view(text).substr(at, end - at);
    if (line.starts_with(key)) found = line.substr(key.size());
    at = end + 1;
  }
  return found;
}

Status work_as_owner(const std::string& directory) {
  if (::geteuid() != 0) return {};
  struct stat info {};
  if (::stat(directory.c_str(), &info) != 0) {
    std::string path = whole_path(directory);
    while (path.size() > 1 && path.ends_with('/')) path.pop_back();
    path.resize(std::max<std::size_t>(path.rfind('/'), 1));
    if (::stat(path.c_str(), &info) != 0) return {};  // whoever opens it says why it can't be
  }
  if (info.st_uid == 0) return {};
  const passwd* user = ::getpwuid(info.st_uid);
  const gid_t group = user == nullptr ? info.st_gid : user->pw_gid;
  const bool in_groups =
      user == nullptr ? ::setgroups(1, &group) == 0 : ::initgroups(user->pw_name, group) == 0;
  if (in_groups && ::setresgid(group, group, group) == 0 &&
      ::setresuid(info.st_uid, info.st_uid, info.st_uid) == 0) {
    return {};
  }
  return host_error("worked on as the user it belongs to", directory, errno);
}

// ---- files ----

std::string_view last_part(std::string_view path) {
  return path.substr(path.rfind('/') + 1);
}

std::string whole_path(const std::string& path) {
  if (path.starts_with('/')) return path;
  std::string here(PATH_MAX, '\0');
  if (::getcwd(here.data(), here.size()) == nullptr) return path;
  here.resize(std::char_traits<char>::length(here.c_str()));
  return (here == "/" ? "" : here) + "/" + path;
}

std::string place_for(const std::string& path, const std::string& name) {
  if (path.empty()) return name;
  struct stat info {};
  const bool folder =
      path != standard_name && ::stat(path.c_str(), &info) == 0 && S_ISDIR(info.st_mode);
  if (!folder) return path;
  return path + (path.ends_with('/') ? "" : "/") + name;
}

fs::Result<Input> Input::open(const std::string& path) {
  if (path == standard_name) return Input(Descriptor(STDIN_FILENO), standard_input);
  Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  if (file.number() < 0) return host_error("opened", path, errno);
  struct stat info {};
  if (::fstat(file.number(), &info) != 0) return host_error("looked at", path, errno);
  if (S_ISDIR(info.st_mode)) {
    return Error{Code::is_a_folder, fmt::format("\"{}\" is a folder; name a file.", path)};
  }
  Input input(std::move(file), path);
  if (S_ISREG(info.st_mode)) {
    input.size_ = static_cast<std::uint64_t>(info.st_size);
    input.changed_ = fs::Time(std::chrono::seconds(info.st_mtim.tv_sec));
  }
  return input;
}

fs::Result<std::size_t> Input::read(std::span<char> into) const {
  return read_some(file_.number(), name_, into);
}

namespace {

// Where the newest Output lies until it is finished. Read by a signal's handler.
std::atomic<const char*> unfinished = nullptr;
static_assert(std::atomic<const char*>::is_always_lock_free);

// Does only what signal-safety(7) lists, then lets the signal do what it would have done.
extern "C" void take_unfinished_away(int signal) {
  if (const char* path = unfinished.load()) ::unlink(path);
  std::signal(signal, SIG_DFL);
  ::raise(signal);
}

constexpr std::array ending_signals{SIGINT, SIGTERM, SIGHUP};

// Signals that are ignored, as under nohup, stay so.
void guard_unfinished() {
  for (const int signal : ending_signals) {
    struct sigaction action {};
    if (::sigaction(signal, nullptr, &action) != 0 || action.sa_handler != SIG_DFL) continue;
    action.sa_handler = take_unfinished_away;
    ::sigaction(signal, &action, nullptr);
  }
}

}  // namespace

Output::Output(Descriptor file, std::string path, Aside aside, bool replace)
    : file_(std::move(file)), path_(std::move(path)), aside_(std::move(aside)), replace_(replace) {}

Output::Output(Output&& other) noexcept
    : file_(std::move(other.file_)),
      path_(std::move(other.path_)),
      aside_(std::move(other.aside_)),
      replace_(other.replace_) {}

Output::~Output() {
  if (!aside_) return;
  ::unlink(aside_->c_str());
  if (unfinished == aside_->c_str()) unfinished = nullptr;
}

fs::Result<Output> Output::create(const std::string& path, bool replace, For whom) {
  if (path == standard_name) {
    return Output(Descriptor(STDOUT_FILENO), "standard output", nullptr, true);
  }
  struct stat info {};
  const bool there = ::stat(path.c_str(), &info) == 0;
  if (there && S_ISDIR(info.st_mode)) {
    return Error{Code::is_a_folder, fmt::format("\"{}\" is a folder; name a file in it.", path)};
  }
  if (there && !S_ISREG(info.st_mode)) {  // a device or a pipe
    Descriptor file(::open(path.c_str(), O_WRONLY | O_CLOEXEC));
    if (file.number() < 0) return host_error("opened", path, errno);
    return Output(std::move(file), path, nullptr, true);
  }
  if (there && !replace) return already_there(path);
  auto aside = std::make_unique<const std::string>(fmt::format("{}.{}.part", path, ::getpid()));
  guard_unfinished();
  unfinished = aside->c_str();
  const mode_t mode = whom == For::user ? 0600 : 0666;
  Descriptor file(::open(aside->c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, mode));
  if (file.number() < 0) {
    unfinished = nullptr;
    return host_error("created", path, errno);
  }
  return Output(std::move(file), path, std::move(aside), replace);
}

Status Output::write(std::string_view bytes) const {
  return write_all(file_.number(), path_, bytes);
}

Status Output::name_it(const std::string& path, bool replace) {
  const unsigned how = replace ? 0 : RENAME_NOREPLACE;
  int done = ::renameat2(AT_FDCWD, aside_->c_str(), AT_FDCWD, path.c_str(), how);
  // Not every file system knows how to refuse: then what is looked at before has to do.
  if (done != 0 && errno == EINVAL) {
    struct stat info {};
    if (!replace && ::lstat(path.c_str(), &info) == 0) return already_there(path);
    done = ::rename(aside_->c_str(), path.c_str());
  }
  if (done != 0) return errno == EEXIST ? already_there(path) : host_error("named", path, errno);
  if (unfinished == aside_->c_str()) unfinished = nullptr;
  aside_.reset();
  return {};
}

Status Output::finish() {
  return aside_ ? name_it(path_, replace_) : Status();
}

fs::Result<std::string> Output::finish_in_part() {
  if (!aside_) return path_;
  constexpr int most_parts = 1000;
  const std::size_t name = path_.size() - last_part(path_).size();
  std::size_t end = path_.rfind('.');
  if (end == std::string::npos || end <= name) end = path_.size();
  for (int number = 1;; ++number) {
    std::string path = fmt::format("{}-{}{}", path_.substr(0, end), number, path_.substr(end));
    const Status named = name_it(path, false);
    if (named) return path;
    if (named.error().code != Code::exists || number == most_parts) return named.error();
  }
}

namespace {

std::atomic<bool> end_was_asked = false;
static_assert(std::atomic<bool>::is_always_lock_free);
std::array<struct sigaction, ending_signals.size()> actions_before;

extern "C" void note_end(int /*signal*/) {
  end_was_asked = true;
}

}  // namespace

PutOff::PutOff() {
  end_was_asked = false;
  for (std::size_t i = 0; i < ending_signals.size(); ++i) {
    ::sigaction(ending_signals.at(i), nullptr, &actions_before.at(i));
    if (actions_before.at(i).sa_handler == SIG_IGN) continue;
    struct sigaction action {};
    action.sa_handler = note_end;
    action.sa_flags = SA_RESTART;
    ::sigaction(ending_signals.at(i), &action, nullptr);
  }
}

PutOff::~PutOff() {
  for (std::size_t i = 0; i < ending_signals.size(); ++i) {
    ::sigaction(ending_signals.at(i), &actions_before.at(i), nullptr);
  }
}

bool PutOff::asked() const {
  return end_was_asked;
}

}  // namespace stationer::admin
