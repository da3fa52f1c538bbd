#include "fs/archive.h"

#include <algorithm>
#include <array>
#include <cerrno>
#include <stdexcept>
#include <string>
#include <vector>

#include <archive.h>
#include <archive_entry.h>
#include <fmt/format.h>

#include "fs/hash.h"
#include "fs/text.h"

namespace stationer::fs {
namespace {

constexpr std::size_t piece = 64 * 1024;
constexpr std::size_t longest_line = 8192;  // of the list: a hash, two blanks and a path

using EntryPtr = std::unique_ptr<archive_entry, decltype(&archive_entry_free)>;

Error damaged(std::string_view what) {
  return {Code::damaged,
          fmt::format("The archive is not whole: {}. Take another copy of it.", what)};
}

bool has_control_character(std::string_view text) {
  return std::any_of(text.begin(), text.end(),
                     [](char each) { return static_cast<unsigned char>(each) < 0x20; });
}

}  // namespace

struct ArchiveWriter::State {
  Sink sink;
  archive* handle = archive_write_new();
  std::optional<Error> failure;
  std::string list;
  std::string name;        // of the file being written; empty when there is none
  std::uint64_t left = 0;  // bytes of it still to come
  Hasher hasher;
  Hash hash{};  // of the last file that was ended

  explicit State(Sink to) : sink(std::move(to)) {
    if (handle == nullptr) throw std::bad_alloc();
    if (archive_write_set_format_gnutar(handle) != ARCHIVE_OK ||
        archive_write_add_filter_zstd(handle) != ARCHIVE_OK) {
      const std::string why = archive_error_string(handle);
      archive_write_free(handle);
      throw std::runtime_error("libarchive lacks tar with zstd: " + why);
    }
    // Compresses beside whoever reads and hashes; without threads it is merely slower.
    archive_write_set_filter_option(handle, "zstd", "threads", "1");
    archive_write_set_bytes_per_block(handle, static_cast<int>(piece));
    archive_write_set_bytes_in_last_block(handle, 1);  // no padding behind the zstd frame
    check(archive_write_open(handle, this, nullptr, &State::take, nullptr));
  }
  State(const State&) = delete;
  State& operator=(const State&) = delete;
  ~State() {
    archive_write_fail(handle);  // else freeing it would write an end
    archive_write_free(handle);
  }

  static la_ssize_t take(archive* handle, void* self, const void* bytes, std::size_t size) {
    auto& state = *static_cast<State*>(self);
    auto taken = state.sink({static_cast<const char*>(bytes), size});
    if (taken) return static_cast<la_ssize_t>(size);
    state.failure = taken.error();
    archive_set_error(handle, EIO, "the sink failed");
    return -1;
  }

  // ARCHIVE_WARN is for what a filing system can't take; there is none here.
  Status check(la_ssize_t outcome) {
    if (failure) return *failure;
    if (outcome >= 0) return {};
    const char* why = archive_error_string(handle);
    failure = Error{Code::io, fmt::format("The archive could not be written: {}.",
                                          why == nullptr ? "no reason given" : why)};
    return *failure;
  }

  Status header(const HostPath& path, bool folder, std::uint64_t size, Time modified) {
    EntryPtr entry(archive_entry_new(), &archive_entry_free);
    if (!entry) throw std::bad_alloc();
    archive_entry_set_pathname(entry.get(), path.text().c_str());
    archive_entry_set_filetype(entry.get(), folder ? AE_IFDIR : AE_IFREG);
    archive_entry_set_perm(entry.get(), folder ? 0755 : 0644);
    archive_entry_set_size(entry.get(), static_cast<la_int64_t>(size));
    const auto seconds = std::chrono::floor<std::chrono::seconds>(modified.time_since_epoch());
    archive_entry_set_mtime(entry.get(), static_cast<time_t>(seconds.count()), 0);
    return check(archive_write_header(handle, entry.get()));
  }

  Status end_file() {
    if (failure) return *failure;
    if (left != 0) {
      failure = Error{Code::bad_input,
                      fmt::format("\"{}\" became shorter while it was archived. Try again.", name)};
      return *failure;
    }
    if (name.empty()) return {};
    hash = hasher.finish();
    list += fmt::format("{}  {}\n", hex(hash), name);
    hasher = Hasher();
    name.clear();
    return {};
  }

  Status check_name(const HostPath& path) {
    if (path.is_volume() || path.text() == archive_list_name ||
        has_control_character(path.text()) || path.text().size() > longest_line / 2) {
      failure = Error{Code::bad_input,
                      fmt::format("\"{}\" can't be a name in an archive.", clip(path.text(), 80))};
      return *failure;
    }
    return {};
  }

  Status put(std::string_view bytes) {
    while (!bytes.empty()) {
      const la_ssize_t done = archive_write_data(handle, bytes.data(), bytes.size());
      if (auto fine = check(done); !fine) return fine;
      if (done == 0) return check(ARCHIVE_FATAL);
      bytes.remove_prefix(static_cast<std::size_t>(done));
    }
    return {};
  }
};

ArchiveWriter::ArchiveWriter(Sink sink) : state_(std::make_unique<State>(std::move(sink))) {}
ArchiveWriter::~ArchiveWriter() = default;
ArchiveWriter::ArchiveWriter(ArchiveWriter&&) noexcept = default;

Status ArchiveWriter::add_folder(const HostPath& path, Time modified) {
  if (auto ended = state_->end_file(); !ended) return ended;
  if (auto fine = state_->check_name(path); !fine) return fine;
  return state_->header(path, true, 0, modified);
}

Status ArchiveWriter::begin_file(const HostPath& path, std::uint64_t size, Time modified) {
  if (auto ended = state_->end_file(); !ended) return ended;
  if (auto fine = state_->check_name(path); !fine) return fine;
  state_->name = path.text();
  state_->left = size;
  return state_->header(path, false, size, modified);
}

Status ArchiveWriter::write(std::string_view bytes) {
  if (state_->failure) return *state_->failure;
  if (bytes.size() > state_->left) {
    state_->failure =
        Error{Code::bad_input,
              fmt::format("\"{}\" grew while it was archived. Try again.", state_->name)};
    return *state_->failure;
  }
  state_->hasher.add(bytes);
  state_->left -= bytes.size();
  return state_->put(bytes);
}

Result<Hash> ArchiveWriter::end_file() {
  if (auto ended = state_->end_file(); !ended) return ended.error();
  return state_->hash;
}

Status ArchiveWriter::add_file(const HostPath& path, std::string_view bytes, Time modified) {
  if (auto begun = begin_file(path, bytes.size(), modified); !begun) return begun;
  return write(bytes);
}

Status ArchiveWriter::finish() {
  if (auto ended = state_->end_file(); !ended) return ended;
  auto listed = state_->header(HostPath() / archive_list_name, false, state_->list.size(), Time{});
  if (!listed) return listed;
  if (auto put = state_->put(state_->list); !put) return put;
  return state_->check(archive_write_close(state_->handle));
}

struct ArchiveReader::State {
  Source source;
  archive* handle = archive_read_new();
  std::string buffer = std::string(piece, '\0');
  std::optional<Error> failure;
  bool opened = false;
  bool in_file = false;
  bool ended = false;
  std::string name;
  std::uint64_t left = 0;
  Hasher hasher;
  std::vector<Hash> hashes;  // of the files read, in their order
  std::vector<Hash> names;

  explicit State(Source from) : source(std::move(from)) {
    if (handle == nullptr) throw std::bad_alloc();
    archive_read_support_format_tar(handle);
    archive_read_support_filter_zstd(handle);
    // Reads on to the end of the zstd frame, so that a cut there is seen as well.
    archive_read_set_format_option(handle, "tar", "read_concatenated_archives", "1");
  }
  State(const State&) = delete;
  State& operator=(const State&) = delete;
  ~State() { archive_read_free(handle); }

  static la_ssize_t give(archive* handle, void* self, const void** bytes) {
    auto& state = *static_cast<State*>(self);
    auto got = state.source(state.buffer);
    if (!got) {
      state.failure = got.error();
      archive_set_error(handle, EIO, "the source failed");
      return -1;
    }
    *bytes = state.buffer.data();
    return static_cast<la_ssize_t>(*got);
  }

  Error fail(std::string_view what) {
    if (!failure) failure = damaged(what);
    return *failure;
  }

  // A warning of libarchive's is about what our own archives never hold.
  Status check(la_ssize_t outcome) {
    if (failure) return *failure;
    if (outcome >= 0) return {};
    const char* why = archive_error_string(handle);
    return fail(why == nullptr ? "it can't be read" : why);
  }

  Result<std::size_t> read(std::span<char> into) {
    if (failure) return *failure;
    if (!in_file || into.empty()) return std::size_t{0};
    const la_ssize_t got = archive_read_data(handle, into.data(), into.size());
    if (auto fine = check(got); !fine) return fine.error();
    const auto size = static_cast<std::size_t>(got);
    if (size > left) return fail(fmt::format("\"{}\" is longer than it was", name));
    left -= size;
    hasher.add({into.data(), size});
    if (size == 0) {
      if (left != 0) return fail(fmt::format("\"{}\" is cut off", name));
      in_file = false;
      hashes.push_back(hasher.finish());
      names.push_back(hash_of(name));
      hasher = Hasher();
    }
    return size;
  }

  Status skip() {
    std::array<char, 16384> unwanted;
    while (in_file) {
      if (auto got = read(unwanted); !got) return got.error();
    }
    return {};
  }

  // The list against what was read, one line after the other.
  Status compare() {
    std::string text;
    std::size_t lines = 0;
    std::array<char, 16384> bytes;
    for (;;) {
      const la_ssize_t got = archive_read_data(handle, bytes.data(), bytes.size());
      if (auto fine = check(got); !fine) return fine;
      if (got == 0) break;
      text.append(bytes.data(), static_cast<std::size_t>(got));
      std::size_t from = 0;
      for (auto end = text.find('\n'); end != std::string::npos; end = text.find('\n', from)) {
        if (auto same = compare(std::string_view(text).substr(from, end - from), lines++); !same) {
          return same;
        }
        from = end + 1;
      }
      text.erase(0, from);
      if (text.size() > longest_line) return fail("its list of hashes makes no sense");
    }
    if (!text.empty() || lines != hashes.size()) return fail("files are missing from it");
    return {};
  }

  Status compare(std::string_view line, std::size_t index) {
    const std::size_t digits = 2 * std::tuple_size_v<Hash>;
    if (line.size() <= digits + 2) return fail("its list of hashes makes no sense");
    const std::string_view listed = line.substr(digits + 2);
    if (index >= hashes.size() || names[index] != hash_of(listed)) {
      return fail(fmt::format("\"{}\" is not where it was", listed));
    }
    if (line.substr(0, digits) != hex(hashes[index])) {
      return fail(fmt::format("\"{}\" is not what was archived", listed));
    }
    return {};
  }
};

ArchiveReader::ArchiveReader(Source source) : state_(std::make_unique<State>(std::move(source))) {}
ArchiveReader::~ArchiveReader() = default;
ArchiveReader::ArchiveReader(ArchiveReader&&) noexcept = default;

Result<std::optional<ArchiveEntry>> ArchiveReader::next() {
  State& state = *state_;
  if (state.failure) return *state.failure;
  if (state.ended) return std::optional<ArchiveEntry>();
  if (!state.opened) {
    state.opened = true;
    auto opened =
        state.check(archive_read_open(state.handle, &state, nullptr, &State::give, nullptr));
    if (!opened) return opened.error();
  }
  if (auto skipped = state.skip(); !skipped) return skipped.error();
  archive_entry* entry = nullptr;
  const int outcome = archive_read_next_header(state.handle, &entry);
  if (outcome == ARCHIVE_EOF && !state.failure) return state.fail("its end is missing");
  if (auto fine = state.check(outcome); !fine) return fine.error();

  const char* pathname = archive_entry_pathname(entry);
  std::string_view name = pathname == nullptr ? "" : pathname;
  const auto type = archive_entry_filetype(entry);
  if ((type != AE_IFREG && type != AE_IFDIR) || archive_entry_hardlink(entry) != nullptr) {
    return state.fail(fmt::format("\"{}\" is neither a file nor a folder", clip(name, 80)));
  }
  if (type == AE_IFDIR && name.ends_with('/')) name.remove_suffix(1);
  auto path = HostPath::from_record(name);
  if (!path || path->is_volume() || has_control_character(name)) {
    return state.fail(fmt::format("\"{}\" leads out of it", clip(name, 80)));
  }
  if (name == archive_list_name) {
    if (auto same = state.compare(); !same) return same.error();
    const int after = archive_read_next_header(state.handle, &entry);
    if (auto fine = state.check(after == ARCHIVE_EOF ? ARCHIVE_OK : after); !fine) {
      return fine.error();
    }
    if (after != ARCHIVE_EOF) return state.fail("something was added behind its end");
    state.ended = true;
    return std::optional<ArchiveEntry>();
  }
  ArchiveEntry out;
  out.path = *path;
  out.folder = type == AE_IFDIR;
  out.size = out.folder ? 0 : static_cast<std::uint64_t>(archive_entry_size(entry));
  out.modified = Time(std::chrono::seconds(archive_entry_mtime(entry)));
  state.in_file = !out.folder;
  state.left = out.size;
  state.name = path->text();
  return std::optional(std::move(out));
}

Result<std::size_t> ArchiveReader::read(std::span<char> into) {
  return state_->read(into);
}

Status verify_archive(ArchiveReader::Source source) {
  ArchiveReader reader(std::move(source));
  for (;;) {
    auto entry = reader.next();
    if (!entry) return entry.error();
    if (!*entry) return {};
  }
}

ArchiveWriter::Sink archive_sink(HostFile& file) {
  return [&file, at = std::uint64_t{0}](std::string_view bytes) mutable {
    auto written = file.write_at(at, bytes);
    at += bytes.size();
    return written;
  };
}

ArchiveReader::Source archive_source(HostFile& file) {
  return [&file, at = std::uint64_t{0}](std::span<char> into) mutable {
    auto got = file.read_at(at, into);
    if (got) at += *got;
    return got;
  };
}

}  // namespace stationer::fs
