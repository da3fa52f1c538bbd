#include "fs/host_watch.h"

#include <array>
#include <cerrno>
#include <cstring>
#include <unordered_map>
#include <utility>

#include <fmt/format.h>
#include <poll.h>
#include <sys/eventfd.h>
#include <sys/inotify.h>
#include <unistd.h>

namespace stationer::fs {
namespace {

constexpr std::uint32_t interesting = IN_CLOSE_WRITE | IN_MOVED_FROM | IN_MOVED_TO | IN_CREATE |
                                      IN_DELETE | IN_ONLYDIR | IN_DONT_FOLLOW | IN_EXCL_UNLINK;

class Inotify : public HostWatch {
 public:
  Inotify(std::string directory, int events, int bell)
      : directory_(std::move(directory)), events_(events), bell_(bell) {}
  Inotify(const Inotify&) = delete;
  Inotify& operator=(const Inotify&) = delete;
  ~Inotify() override {
    ::close(events_);
    ::close(bell_);
  }

  Status add(const HostPath& folder) override {
    const std::string path = directory_ + "/" + folder.text();
    const int watch = ::inotify_add_watch(events_, path.c_str(), interesting);
    if (watch >= 0) {
      folders_[watch] = folder;
      return {};
    }
    const int why = errno;
    return Error{
        why == ENOSPC   ? Code::no_space
        : why == ENOENT ? Code::not_found
                        : Code::io,
        fmt::format("The host could not watch \"{}\": {}.", folder.text(), std::strerror(why))};
  }

  Seen wait(std::chrono::milliseconds longest) override {
    std::array<pollfd, 2> ready{{{events_, POLLIN, 0}, {bell_, POLLIN, 0}}};
    Seen seen;
    if (::poll(ready.data(), ready.size(), static_cast<int>(longest.count())) <= 0) return seen;
    if ((ready[1].revents & POLLIN) != 0) {
      std::uint64_t rung = 0;
      [[maybe_unused]] const auto got = ::read(bell_, &rung, sizeof rung);
    }
    if ((ready[0].revents & POLLIN) == 0) return seen;
    alignas(inotify_event) std::array<char, 65536> buffer;
    const ssize_t got = ::read(events_, buffer.data(), buffer.size());
    for (ssize_t at = 0; at < got;) {
      inotify_event event;
      std::memcpy(&event, buffer.data() + at, sizeof event);
      tell(event, buffer.data() + at + sizeof event, seen);
      at += static_cast<ssize_t>(sizeof event + event.len);
    }
    return seen;
  }

  void wake() override {
    const std::uint64_t ring = 1;
    [[maybe_unused]] const auto put = ::write(bell_, &ring, sizeof ring);
  }

 private:
  void tell(const inotify_event& event, const char* name, Seen& seen) {
    if ((event.mask & (IN_Q_OVERFLOW | IN_UNMOUNT)) != 0) seen.lost = true;
    const auto folder = folders_.find(event.wd);
    if (folder == folders_.end()) return;
    if ((event.mask & IN_IGNORED) != 0) {
      folders_.erase(folder);
      return;
    }
    if (seen.touched.empty() || seen.touched.back() != folder->second) {
      seen.touched.push_back(folder->second);
    }
    const bool came = (event.mask & (IN_CREATE | IN_MOVED_TO)) != 0;
    if (came && (event.mask & IN_ISDIR) != 0 && event.len != 0 && is_host_name(name)) {
      seen.new_folders.push_back(folder->second / name);
    }
  }

  std::string directory_;
  int events_;
  int bell_;
  std::unordered_map<int, HostPath> folders_;  // by their watches
};

}  // namespace

Result<std::unique_ptr<HostWatch>> HostWatch::open(const std::string& directory) {
  const int events = ::inotify_init1(IN_NONBLOCK | IN_CLOEXEC);
  const int bell = events < 0 ? -1 : ::eventfd(0, EFD_NONBLOCK | EFD_CLOEXEC);
  if (bell < 0) {
    const int why = errno;
    if (events >= 0) ::close(events);
    return Error{Code::busy, fmt::format("The host could not watch: {}.", std::strerror(why))};
  }
  return std::unique_ptr<HostWatch>(std::make_unique<Inotify>(directory, events, bell));
}

}  // namespace stationer::fs
