// One change of the store: what it does to the catalogue, and what it asks of the host's files.
// A commit is the unit that is wholly there or wholly absent (invariant 1).
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "fs/host_path.h"
#include "fs/ids.h"
#include "fs/records.h"
#include "fs/result.h"

namespace stationer::fs {

// The deeds. Each can be done again after a crash that came at any point of its commit's settling
// (fs/settle.h says how).
struct MakeFolder {
  HostPath path;
};
// Moves a file or a folder; never onto anything.
struct MovePath {
  HostPath from;
  HostPath to;
};
// Puts a content under its readable name, replacing what is there.
struct PlaceFile {
  HostPath path;
  ContentId content{};
  std::shared_ptr<const std::string> bytes;  // null: it lies in incoming/ under its number
  // What is replaced is kept: from `path` to where versions lie. Empty when there is nothing.
  std::optional<MovePath> aside{};
  // The file's, which the host is told, so that a change behind our back shows by its time.
  Time modified{};
};
struct RemovePath {
  HostPath path;
  bool folder = false;
};

using Deed = std::variant<MakeFolder, PlaceFile, MovePath, RemovePath>;

struct Commit {
  std::uint64_t number = 0;  // 1, 2, 3 … in the order of the log
  std::vector<Change> changes;
  std::vector<Deed> deeds;
};

// Where a large content waits to be placed.
HostPath incoming_path(ContentId content);
// Where a content lies that its file no longer has.
HostPath version_path(ContentId content, std::string_view name);

// The form in the commit log. Little-endian base-128 integers, byte strings with their length, the
// fields of rows in the order of fields().
void encode(const Commit& commit, std::string& out);

// Reads one commit from the front of `bytes` and takes it away. Code::damaged when it can't be
// read.
Result<Commit> decode(std::string_view& bytes);

}  // namespace stationer::fs
