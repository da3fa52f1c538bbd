#include "fs/snapshot_restore.h"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "fs/seal.h"
#include "fs/snapshot_info.h"
#include "fs/volume.h"

namespace stationer::fs {
namespace {

constexpr std::size_t piece = 256 * 1024;
constexpr std::uint64_t longest_small = 1u << 20;  // snapshot.toml, volume.toml
constexpr std::array<std::string_view, 8> parts = {
    "archives", "catalog.db", "files", "bin", "versions", "printouts", "spool", "volume.toml"};

// What can't be read as one may be none, or a damaged one.
Error no_snapshot(HostFile& file, const Error& why) {
  if (why.code != Code::damaged) return why;
  if (auto sealed = has_seal(file); sealed && *sealed) return why;
  return {Code::bad_input,
          fmt::format("This is no snapshot, or its beginning is damaged. {}", why.message)};
}

Error stopped() {
  return {Code::busy, "It was stopped before it was complete."};
}

Result<std::string> whole_entry(const ArchiveEntry& entry, ArchiveReader& reader) {
  if (entry.size > longest_small) {
    return Error{Code::damaged, fmt::format("\"{}\" is too large.", entry.path.text())};
  }
  std::string text(static_cast<std::size_t>(entry.size), '\0');
  std::size_t at = 0;
  for (;;) {
    char end = 0;
    const auto room = at < text.size() ? std::span(text).subspan(at) : std::span(&end, 1);
    auto got = reader.read(room);
    if (!got) return got.error();
    if (*got == 0) return text;
    at += *got;
  }
}

Result<SnapshotInfo> first_entry(HostFile& file, ArchiveReader& reader) {
  auto entry = reader.next();
  if (!entry) return no_snapshot(file, entry.error());
  if (!*entry || (*entry)->folder || (*entry)->path.text() != snapshot_info_name) {
    return Error{Code::bad_input, "This is an archive, but no snapshot of a volume."};
  }
  auto text = whole_entry(**entry, reader);
  if (!text) return no_snapshot(file, text.error());
  return read_snapshot_info(*text);
}

// The archive in a file: what is before its seal.
ArchiveReader::Source source_of(HostFile& file, std::uint64_t size) {
  return [&file, size, at = std::uint64_t{0}](std::span<char> into) mutable -> Result<std::size_t> {
    const auto wanted = static_cast<std::size_t>(std::min<std::uint64_t>(into.size(), size - at));
    auto got = file.read_at(at, into.first(wanted));
    if (got) at += *got;
    return got;
  };
}

class Restoring {
 public:
  explicit Restoring(HostFiles& into) : into_(into) {}

  Status operator()(const ArchiveEntry& entry, ArchiveReader& reader) {
    const std::string& path = entry.path.text();
    const std::string_view top = std::string_view(path).substr(0, path.find('/'));
    if (std::find(parts.begin(), parts.end(), top) == parts.end()) {
      return Error{Code::damaged,
                   fmt::format("\"{}\" in the snapshot belongs to no volume.", entry.path.text())};
    }
    if (path == "volume.toml") {
      auto text = whole_entry(entry, reader);
      if (!text) return text.error();
      settings_ = std::move(*text);
      return {};
    }
    if (entry.folder) return make_folder(entry.path);
    return write(entry, reader);
  }

  // Written last: a directory without it is no volume.
  Status finish() {
    if (settings_.empty()) {
      return Error{Code::damaged, "The snapshot holds no settings, so it makes no volume."};
    }
    if (auto synced = into_.sync_everything(); !synced) return synced;
    return write_durably(into_, HostPath() / "volume.toml", settings_);
  }

 private:
  Status make_folder(const HostPath& path) {
    if (path == made_ || path.is_volume()) return {};
    auto made = into_.make_folder(path);
    if (!made && made.error().code == Code::not_found) {
      if (auto above = make_folder(path.folder()); !above) return above;
      made = into_.make_folder(path);
    }
    if (!made && made.error().code != Code::exists) return made;
    made_ = path;
    return {};
  }

  Status write(const ArchiveEntry& entry, ArchiveReader& reader) {
    if (auto folder = make_folder(entry.path.folder()); !folder) return folder;
    auto file = into_.create(entry.path);
    if (!file) return file.error();
    for (std::uint64_t at = 0;;) {
      auto got = reader.read(buffer_);
      if (!got) return got.error();
      if (*got == 0) {
        // So that the first comparison need not read everything.
        static_cast<void>((*file)->set_modified(entry.modified));
        return {};
      }
      auto written = (*file)->write_at(at, std::string_view(buffer_).substr(0, *got));
      if (!written) return written;
      at += *got;
    }
  }

  HostFiles& into_;
  HostPath made_;  // the last folder that is known to be there
  std::string settings_;
  std::string buffer_ = std::string(piece, '\0');
};

Result<SnapshotInfo> restore_into(HostFile& file, HostFiles& into,
                                  const SnapshotProgress& progress) {
  auto info = describe_snapshot(file);
  if (!info) return info;
  auto space = into.space();
  if (!space) return space.error();
  if (space->free_bytes < info->bytes) {
    return Error{Code::no_space,
                 fmt::format("There is not enough room: {} MiB are free, and the snapshot holds {} "
                             "MiB. Name a folder on another disk.",
                             space->free_bytes >> 20, info->bytes >> 20)};
  }
  Restoring restoring(into);
  const SnapshotUse use = [&](const ArchiveEntry& entry, ArchiveReader& reader) {
    return restoring(entry, reader);
  };
  auto done = read_snapshot(file, use, progress);
  if (!done) return done;
  if (auto finished = restoring.finish(); !finished) return finished.error();
  return done;
}

}  // namespace

Result<SnapshotInfo> describe_snapshot(HostFile& file) {
  auto size = file.size();
  if (!size) return size.error();
  ArchiveReader reader(source_of(file, *size));
  return first_entry(file, reader);
}

Result<SnapshotInfo> read_snapshot(HostFile& file, const SnapshotUse& use,
                                   const SnapshotProgress& progress) {
  // Half of the way is the seal, half the entries.
  std::uint64_t sealed_size = 0;
  auto sealed = check_seal(file, [&](std::uint64_t done, std::uint64_t all) {
    sealed_size = all;
    return !progress || progress(done, 2 * all);
  });
  if (!sealed) return sealed.error();
  std::uint64_t read = 0;
  auto from_file = source_of(file, *sealed);
  bool stop = false;
  ArchiveReader reader([&](std::span<char> into) -> Result<std::size_t> {
    auto got = from_file(into);
    if (got) read += *got;
    stop = stop || (progress && !progress(sealed_size + read, 2 * sealed_size));
    if (stop) return stopped();
    return got;
  });
  auto info = first_entry(file, reader);
  if (!info) return info;
  for (;;) {
    auto entry = reader.next();
    if (!entry) return entry.error();
    if (!*entry) return info;
    if (auto used = use(**entry, reader); !used) return used.error();
  }
}

Result<SnapshotInfo> restore_snapshot(HostFile& file, const std::string& directory,
                                      const SnapshotProgress& progress) {
  if (auto free = check_outside_folder_is_free(directory); !free) return free.error();
  if (auto made = make_outside_folder(directory); !made) return made.error();
  auto into = open_host_files(directory);
  if (!into) return into.error();
  auto done = restore_into(file, **into, progress);
  if (!done) static_cast<void>(remove_below(**into, HostPath()));
  return done;
}

Result<Rehearsal> rehearse_snapshot(HostFile& file, const std::string& directory,
                                    const SnapshotProgress& progress) {
  Rehearsal out;
  {
    auto restored = restore_snapshot(file, directory, progress);
    if (!restored) {
      static_cast<void>(remove_outside_folder(directory));
      return restored.error();
    }
    out.info = std::move(*restored);
  }
  const auto check = [&]() -> Result<CheckReport> {
    auto volume = Volume::open(directory);
    if (!volume) return volume.error();
    return (*volume)->check();
  };
  auto checked = check();
  {
    auto place = open_host_files(directory);
    if (!place) return place.error();
    if (auto removed = remove_below(**place, HostPath()); !removed) return removed.error();
  }
  if (auto removed = remove_outside_folder(directory); !removed) return removed.error();
  if (!checked) return checked.error();
  out.report = std::move(*checked);
  return out;
}

}  // namespace stationer::fs
