#include "fs/host_files.h"

#include <cerrno>
#include <csignal>
#include <cstring>
#include <thread>

#include <dirent.h>
#include <fcntl.h>
#include <fmt/format.h>
#include <linux/openat2.h>
#include <sys/file.h>
#include <sys/sendfile.h>
#include <sys/stat.h>
#include <sys/statvfs.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <unistd.h>

#include "fs/size_words.h"

namespace stationer::fs {
namespace {

constexpr mode_t file_mode = 0640;
constexpr mode_t folder_mode = 0750;
// Where the host can't tell whether a file is open, one written to so lately may be.
constexpr std::chrono::seconds still_warm{4};

Code code_of(int error) {
  switch (error) {
    case ENOENT: return Code::not_found;
    case EEXIST:
    case ENOTEMPTY: return Code::exists;
    case ENOSPC:
    case EDQUOT: return Code::no_space;
    case EROFS: return Code::read_only;
    case ENOTDIR: return Code::not_a_folder;
    case EISDIR: return Code::is_a_folder;
    case EACCES:
    case EPERM:
    case EMLINK:
    case EOPNOTSUPP: return Code::denied;
    case ENAMETOOLONG: return Code::bad_name;
    case ELOOP:
    case EXDEV: return Code::damaged;  // a link where a folder or a file should be
    case EMFILE:
    case ENFILE:
    case EWOULDBLOCK: return Code::busy;
    default: return Code::io;
  }
}

Error host_error(std::string_view doing, std::string_view path, int error) {
  std::string_view advice;
  switch (error) {
    case ENOSPC:
    case EDQUOT: advice = " Free some space on the host's disk."; break;
    case EROFS: advice = " The disk is mounted read-only."; break;
    case EIO: advice = " The disk may be failing: make a copy of it now."; break;
    default: break;
  }
  return {code_of(error), fmt::format("The host could not {} \"{}\": {}.{}", doing, path,
                                      std::strerror(error), advice)};
}

// Calls again what a signal has interrupted. POSIX allows that of fsync() too.
template <class Call>
int uninterrupted(Call call) {
  int result = 0;
  do {
    result = call();
  } while (result < 0 && errno == EINTR);
  return result;
}

class Descriptor {
 public:
  explicit Descriptor(int fd = -1) : fd_(fd) {}
  Descriptor(Descriptor&& other) noexcept : fd_(std::exchange(other.fd_, -1)) {}
  Descriptor& operator=(Descriptor&& other) noexcept {
    std::swap(fd_, other.fd_);
    return *this;
  }
  ~Descriptor() {
    if (fd_ >= 0) ::close(fd_);
  }
  int get() const { return fd_; }
  int release() { return std::exchange(fd_, -1); }
  explicit operator bool() const { return fd_ >= 0; }

 private:
  int fd_;
};

// Large files are written out by pieces of this many bytes while the rest is on its way, and what
// lies this many pieces behind is let go of: one great file does not push the programs that all
// load out of memory.
constexpr std::uint64_t early_write = std::uint64_t{8} << 20;
constexpr std::uint64_t pieces_in_memory = 4;

class PosixFile : public HostFile {
 public:
  PosixFile(Descriptor descriptor, std::string path)
      : descriptor_(std::move(descriptor)), path_(std::move(path)) {}

  Status write_at(std::uint64_t offset, std::string_view bytes) override {
    const std::uint64_t first = offset / early_write;
    const std::uint64_t last = (offset + bytes.size()) / early_write;
    while (!bytes.empty()) {
      const ssize_t done =
          ::pwrite(descriptor_.get(), bytes.data(), bytes.size(), static_cast<off_t>(offset));
      if (done < 0) {
        if (errno == EINTR) continue;
        return host_error("write", path_, errno);
      }
      bytes.remove_prefix(static_cast<std::size_t>(done));
      offset += static_cast<std::uint64_t>(done);
    }
    // The disk begins with what is complete of a large file while the rest is on its way, so that
    // sync() has little left to wait for.
    if (last > first) {
      ::sync_file_range(descriptor_.get(), static_cast<off_t>(first * early_write),
                        static_cast<off_t>((last - first) * early_write), SYNC_FILE_RANGE_WRITE);
      if (first >= pieces_in_memory) return let_go(first - pieces_in_memory, last - first);
    }
    return {};
  }

  Result<std::size_t> read_at(std::uint64_t offset, std::span<char> into) override {
    std::size_t total = 0;
    while (total < into.size()) {
      const ssize_t done = ::pread(descriptor_.get(), into.data() + total, into.size() - total,
                                   static_cast<off_t>(offset + total));
      if (done < 0) {
        if (errno == EINTR) continue;
        return host_error("read", path_, errno);
      }
      if (done == 0) break;
      total += static_cast<std::size_t>(done);
    }
    return total;
  }

  std::optional<std::size_t> read_now(std::uint64_t offset, std::span<char> into) override {
    const iovec where{into.data(), into.size()};
    const ssize_t done =
        ::preadv2(descriptor_.get(), &where, 1, static_cast<off_t>(offset), RWF_NOWAIT);
    // Less than was asked for is the end of the file, or what is in memory of it.
    if (done < 0) return std::nullopt;
    const auto got = static_cast<std::size_t>(done);
    if (got == into.size()) return got;
    const auto length = size();
    if (!length || offset + got < *length) return std::nullopt;
    return got;
  }

  Result<std::size_t> send_to(int socket, std::uint64_t offset, std::size_t count) override {
    std::size_t sent = 0;
    auto at = static_cast<off_t>(offset);
    while (sent < count) {
      const ssize_t done = ::sendfile(socket, descriptor_.get(), &at, count - sent);
      if (done < 0 && errno == EINTR) continue;
      if (done < 0 && sent == 0 && errno == EAGAIN) {
        return Error{Code::busy, "The connection takes nothing now."};
      }
      if (done < 0 && sent == 0) return host_error("send", path_, errno);
      if (done <= 0) break;
      sent += static_cast<std::size_t>(done);
    }
    return sent;
  }

  Status sync() override {
    // fdatasync also writes the length when it has changed (fdatasync(2)).
    if (uninterrupted([&] { return ::fdatasync(descriptor_.get()); }) != 0)
      return host_error("write out", path_, errno);
    return {};
  }

  Result<std::uint64_t> size() override {
    struct stat info {};
    if (::fstat(descriptor_.get(), &info) != 0) return host_error("look at", path_, errno);
    return static_cast<std::uint64_t>(info.st_size);
  }

  Status set_modified(Time modified) override {
    const auto since = modified.time_since_epoch();
    const auto seconds = std::chrono::floor<std::chrono::seconds>(since);
    timespec times[2] = {{0, UTIME_OMIT}, {}};  // when it was read is left alone
    times[1].tv_sec = static_cast<time_t>(seconds.count());
    times[1].tv_nsec = static_cast<long>(std::chrono::nanoseconds(since - seconds).count());
    if (::futimens(descriptor_.get(), times) != 0) {
      return host_error("set the time of", path_, errno);
    }
    return {};
  }

  // A lease for reading is not given while the file is open for writing (fcntl(2), F_SETLEASE).
  Result<bool> has_writer() override {
    // Whoever opens it in between waits until the lease is gone, and we get this signal, which
    // does nothing; the one meant for it would end us.
    static_cast<void>(::fcntl(descriptor_.get(), F_SETSIG, SIGURG));
    if (::fcntl(descriptor_.get(), F_SETLEASE, F_RDLCK) == 0) {
      static_cast<void>(::fcntl(descriptor_.get(), F_SETLEASE, F_UNLCK));
      return false;
    }
    if (errno == EAGAIN) return true;
    // Another user's file, or a file system without leases.
    struct stat info {};
    if (::fstat(descriptor_.get(), &info) != 0) return host_error("look at", path_, errno);
    const auto age = std::chrono::system_clock::now() -
                     std::chrono::system_clock::from_time_t(info.st_mtim.tv_sec);
    return age > age.zero() && age < still_warm;
  }

 private:
  // Waits until the disk has these pieces, and lets go of their memory. A failure is told here or
  // never: who has heard of it hears nothing in sync().
  Status let_go(std::uint64_t piece, std::uint64_t count) {
    const auto start = static_cast<off_t>(piece * early_write);
    const auto length = static_cast<off_t>(count * early_write);
    constexpr unsigned whole =
        SYNC_FILE_RANGE_WAIT_BEFORE | SYNC_FILE_RANGE_WRITE | SYNC_FILE_RANGE_WAIT_AFTER;
    if (uninterrupted([&] { return ::sync_file_range(descriptor_.get(), start, length, whole); }) !=
        0) {
      return host_error("write out", path_, errno);
    }
    static_cast<void>(::posix_fadvise(descriptor_.get(), start, length, POSIX_FADV_DONTNEED));
    return {};
  }

  Descriptor descriptor_;
  std::string path_;
};

HostEntry entry_of(std::string name, const struct stat& info) {
  HostEntry entry;
  entry.name = std::move(name);
  entry.type = S_ISREG(info.st_mode)   ? HostEntry::Type::file
               : S_ISDIR(info.st_mode) ? HostEntry::Type::folder
                                       : HostEntry::Type::other;
  entry.size = static_cast<std::uint64_t>(info.st_size);
  entry.modified = Time(std::chrono::floor<std::chrono::milliseconds>(
      std::chrono::seconds(info.st_mtim.tv_sec) + std::chrono::nanoseconds(info.st_mtim.tv_nsec)));
  return entry;
}

class PosixFiles : public HostFiles {
 public:
  PosixFiles(Descriptor volume) : volume_(std::move(volume)) {}

  Result<std::unique_ptr<HostFile>> open(const HostPath& path) override {
    return open_as(path, O_RDONLY | O_NONBLOCK, "open");
  }
  Result<std::unique_ptr<HostFile>> open_write(const HostPath& path) override {
    return open_as(path, O_RDWR | O_NONBLOCK, "open");
  }
  Result<std::unique_ptr<HostFile>> create(const HostPath& path) override {
    return open_as(path, O_RDWR | O_CREAT | O_TRUNC | O_NONBLOCK, "create");
  }

  Status rename(const HostPath& from, const HostPath& to, bool replace) override {
    const Descriptor source = folder(from.folder());
    if (!source) return host_error("open the folder of", from.text(), errno);
    const Descriptor target = folder(to.folder());
    if (!target) return host_error("open the folder of", to.text(), errno);
    const std::string old_name(from.name());
    const std::string new_name(to.name());
    const unsigned flags = replace ? 0 : RENAME_NOREPLACE;
    if (::renameat2(source.get(), old_name.c_str(), target.get(), new_name.c_str(), flags) == 0) {
      return {};
    }
    if (!replace && errno == EINVAL) {  // a file system that does not know RENAME_NOREPLACE
      auto there = look(to);
      if (!there) return there.error();
      if (*there) return Error{Code::exists, fmt::format("\"{}\" exists already.", to.text())};
      if (::renameat(source.get(), old_name.c_str(), target.get(), new_name.c_str()) == 0)
        return {};
    }
    return host_error("rename", from.text(), errno);
  }

  Status link(const HostPath& from, const HostPath& to) override {
    const Descriptor source = folder(from.folder());
    if (!source) return host_error("open the folder of", from.text(), errno);
    const Descriptor target = folder(to.folder());
    if (!target) return host_error("open the folder of", to.text(), errno);
    const std::string old_name(from.name());
    const std::string new_name(to.name());
    if (::linkat(source.get(), old_name.c_str(), target.get(), new_name.c_str(), 0) != 0) {
      return host_error("give a second name to", from.text(), errno);
    }
    return {};
  }

  Status remove_file(const HostPath& path) override { return remove(path, 0); }
  Status remove_folder(const HostPath& path) override { return remove(path, AT_REMOVEDIR); }

  Status make_folder(const HostPath& path) override {
    const Descriptor parent = folder(path.folder());
    const std::string name(path.name());
    if (!parent || ::mkdirat(parent.get(), name.c_str(), folder_mode) != 0) {
      return host_error("make the folder", path.text(), errno);
    }
    return {};
  }

  Result<std::optional<HostEntry>> look(const HostPath& path) override {
    struct stat info {};
    const Descriptor parent = folder(path.folder());
    const std::string name(path.is_volume() ? "." : path.name());
    if (!parent || ::fstatat(parent.get(), name.c_str(), &info, AT_SYMLINK_NOFOLLOW) != 0) {
      if (errno == ENOENT) return std::optional<HostEntry>();
      return host_error("look at", path.text(), errno);
    }
    return std::optional(entry_of(name, info));
  }

  Result<std::vector<HostEntry>> list(const HostPath& path) override {
    Descriptor opened = folder(path);
    if (!opened) return host_error("list", path.text(), errno);
    const std::unique_ptr<DIR, int (*)(DIR*)> stream(::fdopendir(opened.get()), ::closedir);
    if (!stream) return host_error("list", path.text(), errno);
    const int fd = opened.release();
    std::vector<HostEntry> entries;
    for (;;) {
      errno = 0;
      const dirent* next = ::readdir(stream.get());
      if (next == nullptr) break;
      const std::string name = next->d_name;
      if (name == "." || name == "..") continue;
      struct stat info {};
      if (::fstatat(fd, name.c_str(), &info, AT_SYMLINK_NOFOLLOW) != 0) {
        if (errno == ENOENT) continue;  // removed since readdir saw it
        return host_error("look at", name, errno);
      }
      entries.push_back(entry_of(name, info));
    }
    if (errno != 0) return host_error("list", path.text(), errno);
    return entries;
  }

  Status sync_folder(const HostPath& path) override {
    const Descriptor opened = folder(path);
    if (!opened || uninterrupted([&] { return ::fsync(opened.get()); }) != 0)
      return host_error("write out", path.text(), errno);
    return {};
  }

  Status sync_everything() override {
    if (uninterrupted([&] { return ::syncfs(volume_.get()); }) != 0)
      return host_error("write out", "the volume", errno);
    return {};
  }

  Result<HostSpace> space() override {
    struct statvfs info {};
    if (::fstatvfs(volume_.get(), &info) != 0) return host_error("measure", "the disk", errno);
    return HostSpace{info.f_bavail * info.f_frsize, info.f_blocks * info.f_frsize};
  }

 private:
  // Opens below the volume, never through a link. -1 and errno when that fails.
  Descriptor open_beneath(const HostPath& path, int flags) const {
    open_how how{};
    how.flags = static_cast<std::uint64_t>(flags | O_CLOEXEC | O_NOFOLLOW);
    if ((flags & O_CREAT) != 0) how.mode = file_mode;
    how.resolve = RESOLVE_BENEATH | RESOLVE_NO_SYMLINKS | RESOLVE_NO_MAGICLINKS;
    const char* name = path.is_volume() ? "." : path.text().c_str();
    long fd = -1;
    do {
      fd = ::syscall(SYS_openat2, volume_.get(), name, &how, sizeof how);
    } while (fd < 0 && (errno == EINTR || errno == EAGAIN));
    return Descriptor(static_cast<int>(fd));
  }

  Descriptor folder(const HostPath& path) const {
    return open_beneath(path, O_RDONLY | O_DIRECTORY);
  }

  Result<std::unique_ptr<HostFile>> open_as(const HostPath& path, int flags,
                                            std::string_view doing) const {
    Descriptor opened = open_beneath(path, flags);
    if (!opened) return host_error(doing, path.text(), errno);
    struct stat info {};
    if (::fstat(opened.get(), &info) != 0) return host_error(doing, path.text(), errno);
    if (!S_ISREG(info.st_mode)) {
      return Error{Code::damaged,
                   fmt::format("\"{}\" on the host is not an ordinary file.", path.text())};
    }
    return std::unique_ptr<HostFile>(std::make_unique<PosixFile>(std::move(opened), path.text()));
  }

  Status remove(const HostPath& path, int flags) const {
    const Descriptor parent = folder(path.folder());
    const std::string name(path.name());
    if (!parent || ::unlinkat(parent.get(), name.c_str(), flags) != 0) {
      return host_error("remove", path.text(), errno);
    }
    return {};
  }

  Descriptor volume_;
};

// Tries again until `patience` is over; there is no flock(2) with a time limit. 0, or errno.
int lock(int folder, std::chrono::milliseconds patience) {
  constexpr auto pause = std::chrono::milliseconds(20);
  const auto until = std::chrono::steady_clock::now() + patience;
  while (::flock(folder, LOCK_EX | LOCK_NB) != 0) {
    if (errno != EWOULDBLOCK && errno != EINTR) return errno;
    if (std::chrono::steady_clock::now() >= until) return EWOULDBLOCK;
    std::this_thread::sleep_for(pause);
  }
  return 0;
}

}  // namespace

Result<std::unique_ptr<HostFiles>> open_host_files(const std::string& directory,
                                                   std::chrono::milliseconds patience) {
  Descriptor volume(::open(directory.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (!volume) return host_error("open", directory, errno);
  if (const int error = lock(volume.get(), patience); error != 0) {
    if (error == EWOULDBLOCK) {
      return Error{Code::busy,
                   fmt::format("The volume \"{}\" is in use by another Stationer. Stop that one "
                               "first, or choose another volume.",
                               directory)};
    }
    return host_error("lock", directory, error);
  }
  return std::unique_ptr<HostFiles>(std::make_unique<PosixFiles>(std::move(volume)));
}

Result<std::unique_ptr<HostFiles>> open_host_folder(const std::string& directory) {
  Descriptor folder(::open(directory.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (!folder) return host_error("open", directory, errno);
  return std::unique_ptr<HostFiles>(std::make_unique<PosixFiles>(std::move(folder)));
}

Result<std::size_t> HostFile::send_to(int, std::uint64_t, std::size_t) {
  return Error{Code::denied, "This file can only be read."};
}

Result<std::string> read_outside_file(const std::string& path, std::uint64_t limit) {
  Descriptor opened(::open(path.c_str(), O_RDONLY | O_CLOEXEC));
  if (!opened) return host_error("open", path, errno);
  std::string bytes;
  char piece[65536];
  for (;;) {
    const ssize_t done = ::read(opened.get(), piece, sizeof piece);
    if (done < 0 && errno == EINTR) continue;
    if (done < 0) return host_error("read", path, errno);
    if (done == 0) return bytes;
    if (bytes.size() + static_cast<std::size_t>(done) > limit) {
      return Error{Code::bad_input,
                   fmt::format("\"{}\" is too large: more than {}.", path, size_in_words(limit))};
    }
    bytes.append(piece, static_cast<std::size_t>(done));
  }
}

Status write_outside_file(const std::string& path, std::string_view bytes) {
  Descriptor opened(::open(path.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0644));
  if (!opened) return host_error("create", path, errno);
  PosixFile file(std::move(opened), path);
  return file.write_at(0, bytes);
}

Status make_outside_folder(const std::string& path) {
  if (::mkdir(path.c_str(), folder_mode) != 0 && errno != EEXIST) {
    return host_error("make the folder", path, errno);
  }
  return {};
}

Status remove_outside_folder(const std::string& path) {
  if (::rmdir(path.c_str()) != 0 && errno != ENOENT) return host_error("remove", path, errno);
  return {};
}

Status check_outside_folder_is_free(const std::string& path) {
  const std::unique_ptr<DIR, int (*)(DIR*)> stream(::opendir(path.c_str()), ::closedir);
  if (!stream) {
    if (errno == ENOENT) return {};
    return host_error("open", path, errno);
  }
  while (const dirent* next = ::readdir(stream.get())) {
    const std::string_view name = next->d_name;
    if (name != "." && name != "..") {
      return Error{Code::exists,
                   fmt::format("\"{}\" is not empty. Name a folder that is empty or not there yet; "
                               "a new volume is made in it.",
                               path)};
    }
  }
  return {};
}

Result<OutsideFolder> OutsideFolder::open(const std::string& path) {
  const int opened = ::open(path.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (opened < 0) return host_error("open", path, errno);
  return OutsideFolder(std::shared_ptr<const int>(new int(opened), [](const int* descriptor) {
    ::close(*descriptor);
    delete descriptor;
  }));
}

std::string OutsideFolder::path_of(std::string_view name) const {
  return fmt::format("/proc/self/fd/{}/{}", *descriptor_, name);
}

Status OutsideFolder::remove_socket(const std::string& name) const {
  struct stat info {};
  if (::fstatat(*descriptor_, name.c_str(), &info, AT_SYMLINK_NOFOLLOW) != 0) {
    return errno == ENOENT ? Status() : Status(host_error("look at", name, errno));
  }
  if (!S_ISSOCK(info.st_mode)) {
    return Error{Code::exists,
                 fmt::format("\"{}\" in the volume is in the way of the control socket. "
                             "Move it away.",
                             name)};
  }
  if (::unlinkat(*descriptor_, name.c_str(), 0) != 0) return host_error("remove", name, errno);
  return {};
}

Status keep_to_owner(int unbound_socket) {
  if (::fchmod(unbound_socket, S_IRUSR | S_IWUSR) != 0)
    return host_error("close to others", "a socket", errno);
  return {};
}

std::uint32_t own_user() {
  return ::geteuid();
}

Status make_folders(HostFiles& files, const HostPath& folder) {
  if (folder.is_volume()) return {};
  auto there = files.look(folder);
  if (!there) return there.error();
  if (*there) {
    if ((*there)->type == HostEntry::Type::folder) return {};
    return Error{Code::damaged,
                 fmt::format("\"{}\" on the host should be a folder.", folder.text())};
  }
  if (auto above = make_folders(files, folder.folder()); !above) return above;
  if (auto made = files.make_folder(folder); !made && made.error().code != Code::exists)
    return made;
  return files.sync_folder(folder.folder());
}

Status remove_below(HostFiles& files, const HostPath& folder) {
  auto entries = files.list(folder);
  if (!entries) return entries.error();
  for (const auto& entry : *entries) {
    const HostPath path = folder / entry.name;
    if (entry.type == HostEntry::Type::folder) {
      if (auto below = remove_below(files, path); !below) return below;
    }
    auto removed =
        entry.type == HostEntry::Type::folder ? files.remove_folder(path) : files.remove_file(path);
    if (!removed && removed.error().code != Code::not_found) return removed;
  }
  return {};
}

Status move_to_rescued(HostFiles& files, const HostPath& path, const std::string& name) {
  const HostPath rescued = HostPath() / "rescued";
  if (auto made = make_folders(files, rescued); !made) return made;
  for (int n = 2;; ++n) {
    const std::string& wanted = n == 2 ? name : fmt::format("{} ({})", name, n - 1);
    auto moved = files.rename(path, rescued / wanted, false);
    if (moved || moved.error().code != Code::exists) return moved;
  }
}

Status write_durably(HostFiles& files, const HostPath& path, std::string_view bytes) {
  const HostPath aside = path.folder() / (std::string(path.name()) + ".new");
  {
    auto file = files.create(aside);
    if (!file) return file.error();
    if (auto written = (*file)->write_at(0, bytes); !written) return written;
    if (auto synced = (*file)->sync(); !synced) return synced;
  }
  if (auto renamed = files.rename(aside, path, true); !renamed) return renamed;
  return files.sync_folder(path.folder());
}

Result<std::string> read_whole(HostFiles& files, const HostPath& path, std::uint64_t limit) {
  auto file = files.open(path);
  if (!file) return file.error();
  auto size = (*file)->size();
  if (!size) return size.error();
  if (*size > limit) {
    return Error{Code::bad_input, fmt::format("\"{}\" is too large.", path.text())};
  }
  std::string bytes(static_cast<std::size_t>(*size), '\0');
  auto got = (*file)->read_at(0, bytes);
  if (!got) return got.error();
  bytes.resize(*got);
  return bytes;
}

}  // namespace stationer::fs
