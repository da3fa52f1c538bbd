#include "tests/support/simulated_sqlite.h"

#include <algorithm>
#include <array>
#include <cstring>
#include <map>
#include <mutex>
#include <new>
#include <optional>
#include <utility>
#include <vector>

#include <sqlite3.h>

#include "tests/support/simulated_disk.h"

namespace stationer::test {
namespace {

struct Mount {
  std::weak_ptr<SimulatedDisk> disk;
  const SimulatedDisk* which = nullptr;
};
std::mutex mounts_mutex;
std::map<std::string, Mount>& mounts() {
  static std::map<std::string, Mount> all;
  return all;
}

struct Place {
  std::shared_ptr<SimulatedDisk> disk;
  std::string path;
};

std::optional<Place> place_of(const char* name) {
  if (name == nullptr) return std::nullopt;
  const std::string full = name;
  const std::lock_guard lock(mounts_mutex);
  for (auto slash = full.rfind('/'); slash != std::string::npos && slash > 0;
       slash = full.rfind('/', slash - 1)) {
    const auto found = mounts().find(full.substr(0, slash));
    if (found == mounts().end()) continue;
    auto disk = found->second.disk.lock();
    if (!disk) return std::nullopt;
    return Place{std::move(disk), full.substr(slash + 1)};
  }
  return std::nullopt;
}

std::string folder_of(const std::string& path) {
  const auto slash = path.rfind('/');
  return slash == std::string::npos ? "" : path.substr(0, slash);
}

int code_of(const fs::Error& error, int otherwise) {
  return error.code == fs::Code::no_space ? SQLITE_FULL : otherwise;
}

// What the connections to one database have together: its locks, and the WAL's index, which needs
// no disk. (SQLite, "WAL-mode File Format" §2, and sqlite3.h about xLock and xShmLock.)
struct Open;
struct Shared {
  std::vector<std::unique_ptr<char[]>> regions;
  std::map<const Open*, int> levels;                               // of the database's lock
  std::array<std::map<const Open*, int>, SQLITE_SHM_NLOCK> slots;  // SQLITE_SHM_SHARED, _EXCLUSIVE
};
std::mutex locks_mutex;
std::map<const SimulatedDisk::Inode*, std::weak_ptr<Shared>>& all_shared() {
  static std::map<const SimulatedDisk::Inode*, std::weak_ptr<Shared>> all;
  return all;
}
std::shared_ptr<Shared> shared_of(const SimulatedDisk::InodePtr& inode) {
  const std::lock_guard lock(locks_mutex);
  std::erase_if(all_shared(), [](const auto& each) { return each.second.expired(); });
  auto& known = all_shared()[inode.get()];
  auto shared = known.lock();
  if (!shared) known = shared = std::make_shared<Shared>();
  return shared;
}

// What lies behind an open file; SQLite hands us room for a pointer to it.
struct Open {
  Place place;
  SimulatedDisk::InodePtr inode;
  std::shared_ptr<Shared> shared;
  bool sync_name = false;  // a file just made: its first sync makes its name durable too
  bool remove_at_end = false;
};

struct File {
  sqlite3_file base;
  Open* open;
};

Open& of(sqlite3_file* file) {
  return *reinterpret_cast<File*>(file)->open;
}

int do_close(sqlite3_file* file) {
  Open* open = reinterpret_cast<File*>(file)->open;
  {
    const std::lock_guard lock(locks_mutex);
    open->shared->levels.erase(open);
    for (auto& slot : open->shared->slots) slot.erase(open);
  }
  if (open->remove_at_end) static_cast<void>(open->place.disk->remove(open->place.path, false));
  delete open;
  return SQLITE_OK;
}

int do_read(sqlite3_file* file, void* into, int size, sqlite3_int64 offset) {
  Open& open = of(file);
  const auto wanted = static_cast<std::size_t>(size);
  auto got = open.place.disk->read(open.inode, open.place.path, static_cast<std::uint64_t>(offset),
                                   static_cast<char*>(into), wanted);
  if (!got) return SQLITE_IOERR_READ;
  if (*got == wanted) return SQLITE_OK;
  std::memset(static_cast<char*>(into) + *got, 0, wanted - *got);
  return SQLITE_IOERR_SHORT_READ;
}

int do_write(sqlite3_file* file, const void* bytes, int size, sqlite3_int64 offset) {
  Open& open = of(file);
  const std::string_view what(static_cast<const char*>(bytes), static_cast<std::size_t>(size));
  auto written =
      open.place.disk->write(open.inode, open.place.path, static_cast<std::uint64_t>(offset), what);
  return written ? SQLITE_OK : code_of(written.error(), SQLITE_IOERR_WRITE);
}

int do_truncate(sqlite3_file* file, sqlite3_int64 size) {
  Open& open = of(file);
  auto cut =
      open.place.disk->truncate(open.inode, open.place.path, static_cast<std::uint64_t>(size));
  return cut ? SQLITE_OK : SQLITE_IOERR_TRUNCATE;
}

int do_sync(sqlite3_file* file, int) {
  Open& open = of(file);
  if (!open.place.disk->sync(open.inode, open.place.path)) return SQLITE_IOERR_FSYNC;
  if (open.sync_name) {
    if (!open.place.disk->sync_folder(folder_of(open.place.path))) return SQLITE_IOERR_DIR_FSYNC;
    open.sync_name = false;
  }
  return SQLITE_OK;
}

int do_size(sqlite3_file* file, sqlite3_int64* size) {
  Open& open = of(file);
  *size = static_cast<sqlite3_int64>(open.place.disk->size(open.inode));
  return SQLITE_OK;
}

int do_lock(sqlite3_file* file, int level) {
  Open& open = of(file);
  const std::lock_guard lock(locks_mutex);
  for (const auto& [other, held] : open.shared->levels) {
    if (other == &open) continue;
    const bool in_the_way = level == SQLITE_LOCK_SHARED      ? held > SQLITE_LOCK_RESERVED
                            : level == SQLITE_LOCK_EXCLUSIVE ? held > SQLITE_LOCK_NONE
                                                             : held > SQLITE_LOCK_SHARED;
    if (in_the_way) return SQLITE_BUSY;
  }
  int& held = open.shared->levels[&open];
  held = std::max(held, level);
  return SQLITE_OK;
}
int do_unlock(sqlite3_file* file, int level) {
  Open& open = of(file);
  const std::lock_guard lock(locks_mutex);
  open.shared->levels[&open] = level;
  return SQLITE_OK;
}
int do_check_lock(sqlite3_file* file, int* held) {
  const std::lock_guard lock(locks_mutex);
  const auto& levels = of(file).shared->levels;
  *held = std::any_of(levels.begin(), levels.end(),
                      [](const auto& each) { return each.second > SQLITE_LOCK_SHARED; });
  return SQLITE_OK;
}
int do_control(sqlite3_file*, int, void*) {
  return SQLITE_NOTFOUND;
}
int do_sector_size(sqlite3_file*) {
  return 512;
}
int do_characteristics(sqlite3_file*) {
  return SQLITE_IOCAP_POWERSAFE_OVERWRITE;  // what SQLite's own for Unix says too
}

int do_shared_map(sqlite3_file* file, int region, int size, int extend, void volatile** out) {
  const std::lock_guard lock(locks_mutex);
  auto& regions = of(file).shared->regions;
  const auto at = static_cast<std::size_t>(region);
  *out = nullptr;
  if (at >= regions.size() && extend == 0) return SQLITE_OK;
  while (regions.size() <= at)
    regions.push_back(std::make_unique<char[]>(static_cast<std::size_t>(size)));
  *out = regions[at].get();
  return SQLITE_OK;
}
int do_shared_lock(sqlite3_file* file, int first, int count, int flags) {
  Open& open = of(file);
  const std::lock_guard lock(locks_mutex);
  const bool exclusive = (flags & SQLITE_SHM_EXCLUSIVE) != 0;
  const auto begin = open.shared->slots.begin() + first;
  const auto end = begin + count;
  if ((flags & SQLITE_SHM_UNLOCK) != 0) {
    std::for_each(begin, end, [&](auto& slot) { slot.erase(&open); });
    return SQLITE_OK;
  }
  const bool in_the_way = std::any_of(begin, end, [&](const auto& slot) {
    return std::any_of(slot.begin(), slot.end(), [&](const auto& each) {
      return each.first != &open && (exclusive || each.second == SQLITE_SHM_EXCLUSIVE);
    });
  });
  if (in_the_way) return SQLITE_BUSY;
  std::for_each(begin, end, [&](auto& slot) {
    slot[&open] = exclusive ? SQLITE_SHM_EXCLUSIVE : SQLITE_SHM_SHARED;
  });
  return SQLITE_OK;
}
void do_shared_barrier(sqlite3_file*) {
  const std::lock_guard lock(locks_mutex);
}
int do_shared_unmap(sqlite3_file*, int) {
  return SQLITE_OK;  // the last connection's end takes it away
}

constexpr sqlite3_io_methods methods = [] {
  sqlite3_io_methods out{};
  out.iVersion = 2;
  out.xClose = do_close;
  out.xRead = do_read;
  out.xWrite = do_write;
  out.xTruncate = do_truncate;
  out.xSync = do_sync;
  out.xFileSize = do_size;
  out.xLock = do_lock;
  out.xUnlock = do_unlock;
  out.xCheckReservedLock = do_check_lock;
  out.xFileControl = do_control;
  out.xSectorSize = do_sector_size;
  out.xDeviceCharacteristics = do_characteristics;
  out.xShmMap = do_shared_map;
  out.xShmLock = do_shared_lock;
  out.xShmBarrier = do_shared_barrier;
  out.xShmUnmap = do_shared_unmap;
  return out;
}();

int do_open(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out_flags) {
  file->pMethods = nullptr;
  auto place = place_of(name);
  if (!place) return SQLITE_CANTOPEN;
  const bool may_create = (flags & SQLITE_OPEN_CREATE) != 0;
  const bool is_log = (flags & (SQLITE_OPEN_MAIN_JOURNAL | SQLITE_OPEN_WAL)) != 0;
  auto there = place->disk->look(place->path);
  if (!there) return SQLITE_CANTOPEN;
  auto inode =
      may_create ? place->disk->create(place->path, false) : place->disk->open(place->path);
  if (!inode) return code_of(inode.error(), SQLITE_CANTOPEN);
  auto shared = shared_of(*inode);
  reinterpret_cast<File*>(file)->open =
      new Open{std::move(*place), std::move(*inode), std::move(shared), !*there && is_log,
               (flags & SQLITE_OPEN_DELETEONCLOSE) != 0};
  file->pMethods = &methods;
  if (out_flags != nullptr) *out_flags = flags;
  return SQLITE_OK;
}

int do_delete(sqlite3_vfs*, const char* name, int sync_name) {
  const auto place = place_of(name);
  if (!place) return SQLITE_IOERR_DELETE;
  auto removed = place->disk->remove(place->path, false);
  if (!removed) {
    return removed.error().code == fs::Code::not_found ? SQLITE_IOERR_DELETE_NOENT
                                                       : SQLITE_IOERR_DELETE;
  }
  if (sync_name != 0 && !place->disk->sync_folder(folder_of(place->path)))
    return SQLITE_IOERR_DIR_FSYNC;
  return SQLITE_OK;
}

int do_access(sqlite3_vfs*, const char* name, int, int* out) {
  const auto place = place_of(name);
  *out = 0;
  if (!place) return SQLITE_OK;
  auto there = place->disk->look(place->path);
  if (!there) return SQLITE_IOERR_ACCESS;
  *out = *there ? 1 : 0;
  return SQLITE_OK;
}

int do_full_name(sqlite3_vfs*, const char* name, int size, char* out) {
  sqlite3_snprintf(size, out, "%s", name);
  return SQLITE_OK;
}

int do_randomness(sqlite3_vfs*, int size, char* out) {
  std::memset(out, 7, static_cast<std::size_t>(size));  // the same run, the same bytes
  return size;
}

int do_sleep(sqlite3_vfs*, int microseconds) {
  return microseconds;
}

int do_time(sqlite3_vfs*, double* days) {
  *days = 2461000.5;
  return SQLITE_OK;
}

int do_last_error(sqlite3_vfs*, int, char*) {
  return 0;
}

// Before main() and before anything opens a database.
const bool registered = [] {
  static sqlite3_vfs vfs{};
  vfs.iVersion = 1;
  vfs.szOsFile = sizeof(File);
  vfs.mxPathname = 1024;
  vfs.zName = "simulated";
  vfs.xOpen = do_open;
  vfs.xDelete = do_delete;
  vfs.xAccess = do_access;
  vfs.xFullPathname = do_full_name;
  vfs.xRandomness = do_randomness;
  vfs.xSleep = do_sleep;
  vfs.xCurrentTime = do_time;
  vfs.xGetLastError = do_last_error;
  return sqlite3_vfs_register(&vfs, 1) == SQLITE_OK;
}();

}  // namespace

void mount_for_sqlite(const std::string& directory, std::weak_ptr<SimulatedDisk> disk) {
  const std::lock_guard lock(mounts_mutex);
  const SimulatedDisk* which = disk.lock().get();
  mounts()[directory] = {std::move(disk), which};
}

void unmount_for_sqlite(const SimulatedDisk& disk) {
  const std::lock_guard lock(mounts_mutex);
  std::erase_if(mounts(), [&](const auto& each) { return each.second.which == &disk; });
}

}  // namespace stationer::test
