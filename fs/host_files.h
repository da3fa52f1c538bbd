// Everything Stationer does to the host's files goes through this interface, so that tests can put
// another disk in its place: one that fails at the Nth call, or forgets what was not synced.
//
// All paths are below the volume's directory. The real one never follows a link and never leaves
// the directory (openat2 with RESOLVE_BENEATH and RESOLVE_NO_SYMLINKS; invariant 2).
#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "fs/host_path.h"
#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

// An open file. Calls may come from any thread, one at a time.
class HostFile {
 public:
  virtual ~HostFile() = default;
  // Writes all of `bytes` at `offset`, or fails.
  virtual Status write_at(std::uint64_t offset, std::string_view bytes) = 0;
  // Reads up to into.size() bytes; fewer only at the end of the file.
  virtual Result<std::size_t> read_at(std::uint64_t offset, std::span<char> into) = 0;
  // The same where the host has all of it in memory; nothing when it would have to wait for the
  // disk, or can't say.
  virtual std::optional<std::size_t> read_now(std::uint64_t, std::span<char>) {
    return std::nullopt;
  }
  // Sends at most `count` bytes from `offset` on to a socket that does not block, by the host
  // alone, and tells how many it took; 0 at the end of the file. Code::busy when it takes none now,
  // Code::denied where that can't be done: read_at() can.
  virtual Result<std::size_t> send_to(int socket, std::uint64_t offset, std::size_t count);
  // Returns once contents and length are on the disk. After a failure the file must be given up and
  // written anew: a second sync may succeed without having written anything.
  virtual Status sync() = 0;
  virtual Result<std::uint64_t> size() = 0;
  // Sets when the host says it was last changed, so that a change behind our back shows.
  virtual Status set_modified(Time modified) = 0;
  // Whether somebody has it open to write. Where the host does not tell, as of another user's
  // files, whether it was written to in the last few seconds.
  virtual Result<bool> has_writer() = 0;
};

struct HostEntry {
  enum class Type { file, folder, other };
  std::string name;
  Type type = Type::other;
  std::uint64_t size = 0;
  Time modified{};  // as the host says, down to the millisecond
};

struct HostSpace {
  std::uint64_t free_bytes = 0;
  std::uint64_t total_bytes = 0;
};

class HostFiles {
 public:
  virtual ~HostFiles() = default;

  virtual Result<std::unique_ptr<HostFile>> open(const HostPath& path) = 0;        // to read
  virtual Result<std::unique_ptr<HostFile>> open_write(const HostPath& path) = 0;  // an old file
  virtual Result<std::unique_ptr<HostFile>> create(const HostPath& path) = 0;  // new, or emptied

  // Atomic for all who look. With replace false, an existing `to` gives Code::exists.
  virtual Status rename(const HostPath& from, const HostPath& to, bool replace) = 0;
  // A second name for the same file. Code::exists when `to` is taken, Code::denied where the file
  // system can't.
  virtual Status link(const HostPath& from, const HostPath& to) = 0;
  virtual Status remove_file(const HostPath& path) = 0;
  virtual Status remove_folder(const HostPath& path) = 0;  // an empty one
  virtual Status make_folder(const HostPath& path) = 0;    // Code::exists if anything is there

  // Nothing when nothing is there.
  virtual Result<std::optional<HostEntry>> look(const HostPath& path) = 0;
  virtual Result<std::vector<HostEntry>> list(const HostPath& folder) = 0;

  // Makes the names in a folder durable.
  virtual Status sync_folder(const HostPath& folder) = 0;
  // Makes everything in the volume durable: contents and names.
  virtual Status sync_everything() = 0;
  virtual Result<HostSpace> space() = 0;
};

// The host's own files below `directory`, which must exist. Takes the volume's lock, so that no
// second process serves the same volume: Code::busy if another still has it after `patience`.
Result<std::unique_ptr<HostFiles>> open_host_files(
    const std::string& directory,
    std::chrono::milliseconds patience = std::chrono::milliseconds::zero());
// The same without the lock: a folder of the host's that is no volume, as where snapshots go.
Result<std::unique_ptr<HostFiles>> open_host_folder(const std::string& directory);

// For what lies outside a volume: a whole file named by the keeper, at most `limit` bytes.
Result<std::string> read_outside_file(const std::string& path, std::uint64_t limit);
Status write_outside_file(const std::string& path, std::string_view bytes);
Status make_outside_folder(const std::string& path);
Status remove_outside_folder(const std::string& path);  // an empty one
// Fails unless `path` is missing or an empty folder.
Status check_outside_folder_is_free(const std::string& path);

// A folder of the host's, held open so that a socket in it can be named however long its path is
// (socket addresses hold 107 bytes, unix(7)).
class OutsideFolder {
 public:
  static Result<OutsideFolder> open(const std::string& path);
  std::string path_of(std::string_view name) const;     // "/proc/self/fd/7/control"
  Status remove_socket(const std::string& name) const;  // nothing else; fine when it is not there

 private:
  explicit OutsideFolder(std::shared_ptr<const int> descriptor)
      : descriptor_(std::move(descriptor)) {}
  std::shared_ptr<const int> descriptor_;
};

// For a socket that is not bound yet: once it is, only the user that made it may connect.
Status keep_to_owner(int unbound_socket);
// The user this process runs as, by the host's number.
std::uint32_t own_user();

// Makes folder, and the ones above it that are missing, inside a volume.
Status make_folders(HostFiles& files, const HostPath& folder);
// Takes away everything in a folder, but not the folder.
Status remove_below(HostFiles& files, const HostPath& folder);
// Moves something to rescued/ as `name`, or with a number more when that is taken.
Status move_to_rescued(HostFiles& files, const HostPath& path, const std::string& name);
// Writes a file so that it is there as a whole or not at all, durably.
Status write_durably(HostFiles& files, const HostPath& path, std::string_view bytes);
// A whole file of at most `limit` bytes.
Result<std::string> read_whole(HostFiles& files, const HostPath& path, std::uint64_t limit);

}  // namespace stationer::fs
