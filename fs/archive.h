// Tar archives compressed with zstd, written and read as streams: what a person takes along, what
// is kept of those who left, a whole volume. Ordinary tools unpack them. The last entry of each is
// a list of the SHA-256 hashes of all files before it, in the form that sha256sum --check reads,
// and the reader compares it: an archive that reads to its end is what was written, and whole. The
// only user of libarchive.
//
// The form: GNU tar (for names longer than 100 bytes and files beyond 8 GiB) in one zstd frame
// (RFC 8878). Names are UTF-8. Owners and access bits of the host are not in it.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <string_view>

#include "fs/hash.h"
#include "fs/host_files.h"
#include "fs/host_path.h"
#include "fs/ids.h"
#include "fs/result.h"

namespace stationer::fs {

// The name of the list; no other entry may have it.
inline constexpr std::string_view archive_list_name = "contents.sha256";

struct ArchiveEntry {
  HostPath path;  // checked: it never leads out of the folder one unpacks into
  bool folder = false;
  std::uint64_t size = 0;  // of a file, in bytes
  Time modified{};         // to the second
};

// Holds the names and hashes of what was added until finish(): some 100 bytes a file.
class ArchiveWriter {
 public:
  // Takes the archive's bytes in their order. An error ends the archive, and is what the writer
  // gives back. Must not throw.
  using Sink = std::function<Status(std::string_view bytes)>;

  explicit ArchiveWriter(Sink sink);
  ~ArchiveWriter();  // without finish(): what the sink has is not a whole archive
  ArchiveWriter(ArchiveWriter&&) noexcept;
  ArchiveWriter& operator=(ArchiveWriter&&) = delete;

  Status add_folder(const HostPath& path, Time modified);
  // Starts a file, whose `size` bytes follow in one or more calls of write(). Code::bad_input when
  // the one before it did not get as many bytes as were announced, or too many come, or the name
  // holds a control character.
  Status begin_file(const HostPath& path, std::uint64_t size, Time modified);
  Status write(std::string_view bytes);
  // Ends the file, and gives the hash of its bytes. What is added next ends it as well.
  Result<Hash> end_file();
  Status add_file(const HostPath& path, std::string_view bytes, Time modified);

  // Ends the archive with the list. Once.
  Status finish();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

class ArchiveReader {
 public:
  // Fills `into` from the front and says with how much; 0 at the end. Must not throw.
  using Source = std::function<Result<std::size_t>(std::span<char> into)>;

  explicit ArchiveReader(Source source);
  ~ArchiveReader();
  ArchiveReader(ArchiveReader&&) noexcept;
  ArchiveReader& operator=(ArchiveReader&&) = delete;

  // The next entry, whether or not the one before was read. Nothing at the end, once everything has
  // been compared with the list. Code::damaged for what is cut off, changed, no archive of ours, or
  // holds anything but files and folders; it names the first file that is not what it was.
  Result<std::optional<ArchiveEntry>> next();
  // Bytes of the file that next() came to; 0 at its end.
  Result<std::size_t> read(std::span<char> into);

 private:
  struct State;
  std::unique_ptr<State> state_;
};

// Reads an archive to its end for nothing but whether it is whole.
Status verify_archive(ArchiveReader::Source source);

// To and from an open file, from its start. The file must outlive them.
ArchiveWriter::Sink archive_sink(HostFile& file);
ArchiveReader::Source archive_source(HostFile& file);

}  // namespace stationer::fs
