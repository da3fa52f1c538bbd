#include "fs/snapshot.h"

#include <algorithm>
#include <charconv>
#include <utility>

#include <fmt/chrono.h>
#include <fmt/format.h>

#include "fs/archive.h"
#include "fs/engine.h"
#include "fs/seal.h"
#include "fs/snapshot_info.h"

namespace stationer::fs {
namespace {

constexpr std::size_t piece = 256 * 1024;
constexpr std::uint64_t space_step = 1u << 20;       // of the file, between looks at the disk
constexpr std::size_t most_losses = 20;              // told in sentences
constexpr std::uint64_t jobs_in_memory = 16u << 20;  // bytes; the rest is kept open
constexpr std::uint64_t longest_settings = 1u << 20;

struct Job {
  HostPath path;
  Content content;
  std::uint64_t size = 0;
};

class Taking {
 public:
  Taking(Engine& engine, const std::string& directory, HostFiles& folder, HostPath file,
         const SnapshotProgress& progress)
      : engine_(engine),
        directory_(directory),
        folder_(folder),
        file_(std::move(file)),
        part_(file_.folder() / (std::string(file_.name()) + ".part")),
        progress_(progress) {}

  Result<SnapshotTaken> run(std::string_view volume_name) {
    taken_.info.volume = volume_name;
    auto hold = engine_.hold();
    if (!hold) return hold.error();
    Status done = take();
    static_cast<void>(engine_.files().remove_file(copy_path()));
    if (!done) {
      out_.reset();
      static_cast<void>(folder_.remove_file(part_));
      return done.error();
    }
    return std::move(taken_);
  }

 private:
  static HostPath copy_path() { return HostPath() / "incoming" / "snapshot.db"; }

  Status take() {
    if (auto there = folder_.look(file_); !there || *there) {
      if (!there) return there.error();
      return Error{Code::exists,
                   fmt::format("\"{}\" exists already. Choose another name.", file_.name())};
    }
    // Before the commit, so that no job slips through between being a job and being a printout.
    if (auto jobs = find_jobs(); !jobs) return jobs;
    auto settings = read_whole(engine_.files(), HostPath() / "volume.toml", longest_settings);
    if (!settings) return settings.error();
    if (auto copied = copy_catalogue(); !copied) return copied;
    if (auto archives = find_archives(); !archives) return archives;
    count(settings->size());
    // A first look, so that a disk is not filled for hours in vain. It is not known how small it
    // will get: a tenth is what hardly anything comes below.
    if (auto room = check_room(taken_.info.bytes / 10); !room) return room;

    auto out = folder_.create(part_);
    if (!out) return out.error();
    out_ = std::move(*out);
    Seal seal;
    auto to_file = archive_sink(*out_);
    const auto sink = [&](std::string_view bytes) {
      seal.add(bytes);
      // Never to the last byte: people go on saving on this disk.
      const std::uint64_t before = std::exchange(taken_.size, taken_.size + bytes.size());
      if (before / space_step != taken_.size / space_step) {
        if (auto room = check_room(0); !room) return room;
      }
      return to_file(bytes);
    };
    ArchiveWriter archive(sink);
    if (auto written = write_all(archive, *settings); !written) return written;
    if (auto finished = archive.finish(); !finished) return finished;
    if (auto sealed = to_file(seal.finish()); !sealed) return sealed;
    taken_.size += seal_size;
    if (auto synced = out_->sync(); !synced) return synced;
    out_.reset();
    if (auto renamed = folder_.rename(part_, file_, false); !renamed) return renamed;
    auto synced = folder_.sync_folder(file_.folder());
    if (!synced) static_cast<void>(folder_.remove_file(file_));
    return synced;
  }

  // ---- what is in it ----

  Status find_jobs() {
    std::uint64_t in_memory = 0;
    for (const char* state : {"waiting", "printing", "held", "refused"}) {
      const HostPath place = HostPath() / "spool" / state;
      auto numbers = engine_.files().list(place);
      if (!numbers) {
        if (numbers.error().code == Code::not_found) continue;  // nothing was ever printed
        return numbers.error();
      }
      for (const auto& number : *numbers) {
        if (number.type != HostEntry::Type::folder) continue;
        for (const char* name : {"job.json", "data"}) {
          auto opened = open_job(place / number.name / name, in_memory);
          if (!opened && opened.error().code != Code::not_found) return opened;
        }
      }
    }
    return {};
  }

  // What is small is read, what is large stays open: a job may go at any time.
  Status open_job(const HostPath& path, std::uint64_t& in_memory) {
    auto opened = engine_.files().open(path);
    if (!opened) return opened.error();
    auto size = (*opened)->size();
    if (!size) return size.error();
    if (*size > small_content || in_memory + *size > jobs_in_memory) {
      jobs_.push_back({path, Content(std::move(*opened)), *size});
      return {};
    }
    std::string bytes(static_cast<std::size_t>(*size), '\0');
    auto got = (*opened)->read_at(0, bytes);
    if (!got) return got.error();
    bytes.resize(*got);
    in_memory += *got;
    jobs_.push_back({path, Content(std::make_shared<const std::string>(std::move(bytes))), *got});
    return {};
  }

  Status copy_catalogue() {
    if (auto old = engine_.files().remove_file(copy_path());
        !old && old.error().code != Code::not_found) {
      return old;
    }
    const std::string copy = directory_ + "/" + copy_path().text();
    if (auto copied = engine_.catalog().copy_to(copy); !copied) return copied;
    auto rows = Catalog::open_copy(copy);
    if (!rows) return rows.error();
    rows_ = std::move(*rows);
    auto commit = rows_->settled();
    if (!commit) return commit.error();
    taken_.info.commit = *commit;
    taken_.info.taken = engine_.now();
    auto loaded = rows_->load([&](Record record) { state_.load(std::move(record)); });
    if (!loaded) return loaded;
    static_cast<void>(state_.finish_loading());
    // A job that became a printout meanwhile is in it as that.
    std::erase_if(jobs_, [&](const Job& job) {
      std::uint32_t number = 0;
      const std::string folder(job.path.folder().name());
      std::from_chars(folder.data(), folder.data() + folder.size(), number);
      return state_.printouts.count(number) != 0;
    });
    return {};
  }

  // Looked for after the commit, so that all that its rows tell of are there. Nothing changes them.
  Status find_archives() {
    const HostPath top = HostPath() / "archives";
    auto people = engine_.files().list(top);
    if (!people && people.error().code == Code::not_found) return {};
    if (!people) return people.error();
    for (const auto& person : *people) {
      if (person.type != HostEntry::Type::folder) continue;
      auto files = engine_.files().list(top / person.name);
      if (!files) return files.error();
      for (const auto& file : *files) {
        if (file.type != HostEntry::Type::file) continue;
        archives_.emplace_back(top / person.name / file.name, file.size);
      }
    }
    return {};
  }

  void count(std::uint64_t settings) {
    const auto add = [&](std::uint64_t size) {
      ++taken_.info.files;
      taken_.info.bytes += size;
    };
    add(settings);
    auto copy = engine_.files().look(copy_path());
    add(copy && *copy ? (*copy)->size : 0);
    for (const NodeId root : {files_root, bin_root}) {
      state_.tree.each_below(root, [&](NodeId id) {
        const Node node = state_.tree.get(id);
        if (!node.folder) add(node.size);
      });
    }
    for (const auto& [key, version] : state_.versions) add(version.size);
    for (const auto& [job, printout] : state_.printouts) add(printout.bytes);
    for (const auto& [path, size] : archives_) add(size);
    for (const auto& job : jobs_) add(job.size);
  }

  Status check_room(std::uint64_t bytes) {
    auto space = folder_.space();
    if (!space) return space.error();
    if (space->free_bytes >= engine_.reserve() + bytes) return {};
    return Error{
        Code::no_space,
        fmt::format("There is not enough room for a snapshot: {} MiB are free, {} MiB of "
                    "them for the keeper, and there are {} MiB to be packed. Free some "
                    "space, or name a folder on another disk.",
                    space->free_bytes >> 20, engine_.reserve() >> 20, taken_.info.bytes >> 20)};
  }

  // ---- writing ----

  Status write_all(ArchiveWriter& archive, std::string_view settings) {
    const Time taken = taken_.info.taken;
    auto written =
        archive.add_file(HostPath() / snapshot_info_name, write_snapshot_info(taken_.info), taken);
    if (!written) return written;
    written = archive.add_file(HostPath() / "volume.toml", settings, taken);
    if (!written) return written;
    done_ = settings.size();
    if (written = write_copy(archive); !written) return written;
    for (const NodeId root : {files_root, bin_root}) {
      if (written = write_tree(archive, root); !written) return written;
    }
    for (const auto& [key, version] : state_.versions) {
      const HostPath path = version_path(version.content, version.name);
      written =
          write_content(archive, path, version.node, version.content, version.size, version.saved);
      if (!written) return written;
    }
    for (const auto& [job, printout] : state_.printouts) {
      if (written = write_printout(archive, printout); !written) return written;
    }
    for (const auto& [path, size] : archives_) {
      if (written = write_archive(archive, path); !written) return written;
    }
    for (const auto& job : jobs_) {
      written = write_bytes(archive, job.path, job.content, job.size, taken);
      if (!written) return written;
    }
    return {};
  }

  Status write_copy(ArchiveWriter& archive) {
    auto copy = engine_.files().open(copy_path());
    if (!copy) return copy.error();
    auto size = (*copy)->size();
    if (!size) return size.error();
    return write_bytes(archive, HostPath() / "catalog.db", Content(std::move(*copy)), *size,
                       taken_.info.taken);
  }

  Status write_tree(ArchiveWriter& archive, NodeId root) {
    std::vector<NodeId> all;
    state_.tree.each_below(root, [&](NodeId id) { all.push_back(id); });
    for (const NodeId id : all) {
      const Node node = state_.tree.get(id);
      const HostPath path = Engine::host_path(state_, id);
      auto written = node.folder
                         ? archive.add_folder(path, node.modified)
                         : write_content(archive, path, id, node.content, node.size, node.modified);
      if (!written) return written;
    }
    return {};
  }

  Status write_content(ArchiveWriter& archive, const HostPath& path, NodeId node, ContentId content,
                       std::uint64_t size, Time modified) {
    auto opened = engine_.open_held(node, content);
    if (!opened) return missing(path, opened.error(), size);
    auto there = opened->size();
    if (!there) return there.error();
    auto saved = rows_->digest(content);
    if (!saved) return saved.error();
    auto written = write_bytes(archive, path, *opened, *there, modified);
    if (!written) return written;
    auto hash = archive.end_file();
    if (!hash) return hash.error();
    if (!*saved || **saved != *hash) {
      lost(fmt::format("\"{}\" is not what was saved: it is in the snapshot as it is on the host.",
                       path.text()));
    }
    return {};
  }

  Status write_printout(ArchiveWriter& archive, const Printout& printout) {
    auto path = HostPath::from_record(printout.path);
    if (!path) return path.error();
    auto opened = engine_.open_held(printout);
    if (!opened) return missing(*path, opened.error(), printout.bytes);
    auto there = opened->size();
    if (!there) return there.error();
    return write_bytes(archive, *path, *opened, *there, printout.printed);
  }

  Status write_archive(ArchiveWriter& archive, const HostPath& path) {
    auto opened = engine_.files().open(path);
    // Whoever was erased meanwhile is not in it.
    if (!opened) return opened.error().code == Code::not_found ? Status() : opened.error();
    auto size = (*opened)->size();
    if (!size) return size.error();
    return write_bytes(archive, path, Content(std::move(*opened)), *size, taken_.info.taken);
  }

  Status missing(const HostPath& path, const Error& why, std::uint64_t size) {
    if (why.code != Code::damaged && why.code != Code::not_found) return why;
    lost(fmt::format("\"{}\" is missing on the host, and so in the snapshot.", path.text()));
    return advance(size);
  }

  void lost(std::string sentence) {
    if (++taken_.lost <= most_losses) taken_.losses.push_back(std::move(sentence));
  }

  Status write_bytes(ArchiveWriter& archive, const HostPath& path, const Content& content,
                     std::uint64_t size, Time modified) {
    if (auto begun = archive.begin_file(path, size, modified); !begun) return begun;
    for (std::uint64_t at = 0; at < size;) {
      const auto wanted = static_cast<std::size_t>(std::min<std::uint64_t>(piece, size - at));
      auto got = content.read_at(at, std::span(buffer_).first(wanted));
      if (!got) return got.error();
      if (*got == 0) {
        return Error{Code::io, fmt::format("\"{}\" became shorter while it was read. Somebody is "
                                           "changing it on the host; try again.",
                                           path.text())};
      }
      const auto bytes = std::string_view(buffer_).substr(0, *got);
      if (auto written = archive.write(bytes); !written) return written;
      at += *got;
      if (auto going_on = advance(*got); !going_on) return going_on;
    }
    return {};
  }

  Status advance(std::uint64_t bytes) {
    done_ += bytes;
    if (!progress_ || progress_(done_, std::max(done_, taken_.info.bytes))) return {};
    return Error{Code::busy, "The snapshot was stopped before it was complete."};
  }

  Engine& engine_;
  const std::string& directory_;
  HostFiles& folder_;
  HostPath file_;
  HostPath part_;
  const SnapshotProgress& progress_;
  SnapshotTaken taken_;
  std::vector<Job> jobs_;
  std::vector<std::pair<HostPath, std::uint64_t>> archives_;
  std::unique_ptr<Catalog> rows_;
  State state_{0};
  std::unique_ptr<HostFile> out_;
  std::string buffer_ = std::string(piece, '\0');
  std::uint64_t done_ = 0;
};

}  // namespace

Result<SnapshotTaken> take_snapshot(Engine& engine, const std::string& directory,
                                    std::string_view volume_name, HostFiles& folder,
                                    const HostPath& file, const SnapshotProgress& progress) {
  return Taking(engine, directory, folder, file, progress).run(volume_name);
}

}  // namespace stationer::fs
