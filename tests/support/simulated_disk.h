// A disk in memory that keeps what is durable apart from what is only written, so that a test can
// cut its power at any call. The host's files and SQLite's both live on it.
//
// What a power cut leaves of what was not synced is decided by a seed:
//   - each write to a file is kept, dropped, or torn: of every 512 bytes either all or none (a
//     write does not damage bytes outside its range, which SQLite calls "powersafe overwrite");
//   - each name made, removed or renamed is kept or dropped, independently of the others, as on a
//     file system without a journal; only what concerns the same name stays in order, and a rename
//     is one event, which POSIX (rename()) promises.
// A file's contents are made durable by its sync(), its name by sync_folder() of its folder, both
// by sync_everything().
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <mutex>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "fs/host_files.h"

namespace stationer::test {

// What a simulated file holds; copies share their pages until they are written to.
class SparseBytes {
 public:
  std::uint64_t size() const { return size_; }
  void write(std::uint64_t offset, std::string_view bytes);
  void resize(std::uint64_t size);
  std::size_t read(std::uint64_t offset, char* into, std::size_t size) const;

 private:
  static constexpr std::size_t page_size = 4096;
  std::uint64_t size_ = 0;
  std::map<std::uint64_t, std::shared_ptr<const std::string>> pages_;  // missing: zeros
};

struct DiskCall {
  enum class Kind {
    open,
    create,
    write,
    truncate,
    read,
    sync,
    rename,
    link,
    remove,
    make_folder,
    look,
    list,
    sync_folder,
    sync_everything,
    space
  };
  Kind kind;
  std::string path;  // below the volume

  // Whether it may leave the disk other than it was, once the power is cut.
  bool matters() const;
  const char* name() const;
};

class SimulatedDisk : public std::enable_shared_from_this<SimulatedDisk> {
 public:
  // Before every call, from the thread that makes it; a code makes it fail. May wait.
  using Hook = std::function<std::optional<fs::Code>(const DiskCall&)>;

  static std::shared_ptr<SimulatedDisk> create();
  ~SimulatedDisk();

  // The disk as it is now, with what is not yet durable; without the hook.
  std::shared_ptr<SimulatedDisk> copy() const;
  // The disk as a power cut at this moment leaves it.
  std::shared_ptr<SimulatedDisk> after_power_cut(std::uint64_t seed) const;

  void set_hook(Hook hook);
  void set_free_bytes(std::uint64_t bytes) { free_bytes_ = bytes; }

  std::unique_ptr<fs::HostFiles> files();
  // From here on SQLite finds this disk at `directory`, until the disk goes or is mounted
  // elsewhere. The host has nothing there.
  void mount(const std::string& directory);

  struct Inode;
  using InodePtr = std::shared_ptr<Inode>;

  // The calls of the host's files and of SQLite's, by path below the volume.
  fs::Result<InodePtr> open(const std::string& path);
  fs::Result<InodePtr> create(const std::string& path, bool empty_it);
  fs::Status write(const InodePtr& file, const std::string& path, std::uint64_t offset,
                   std::string_view bytes);
  fs::Status truncate(const InodePtr& file, const std::string& path, std::uint64_t size);
  fs::Result<std::size_t> read(const InodePtr& file, const std::string& path, std::uint64_t offset,
                               char* into, std::size_t size);
  fs::Status sync(const InodePtr& file, const std::string& path);
  std::uint64_t size(const InodePtr& file) const;
  void set_modified(const InodePtr& file, fs::Time modified);
  fs::Status rename(const std::string& from, const std::string& to, bool replace);
  fs::Status link(const std::string& from, const std::string& to);
  fs::Status remove(const std::string& path, bool folder);
  fs::Status make_folder(const std::string& path);
  fs::Result<std::optional<fs::HostEntry>> look(const std::string& path);
  fs::Result<std::vector<fs::HostEntry>> list(const std::string& path);
  fs::Status sync_folder(const std::string& path);
  fs::Status sync_everything();
  fs::Result<fs::HostSpace> space();

 private:
  struct Event;
  struct Walk;

  SimulatedDisk();
  fs::Status ask(DiskCall::Kind kind, const std::string& path) const;
  fs::Result<InodePtr> walk(std::string_view path) const;
  fs::Result<InodePtr> folder_of(std::string_view path) const;
  void note(Event event);
  void make_durable(const std::function<bool(const Event&)>& wanted);
  static void apply(const Event& event);

  mutable std::mutex mutex_;
  Hook hook_;
  mutable std::mutex hook_mutex_;
  InodePtr root_;
  std::vector<Event> events_;  // of names, not durable yet, oldest first
  std::uint64_t free_bytes_ = std::uint64_t{64} << 30;
};

}  // namespace stationer::test
