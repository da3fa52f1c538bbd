// Work that comes back out of a snapshot into the volume it was taken of, while it is in use.
//
// Nothing that is there is lost. A file goes to where it was; when its owner's file there has other
// contents by now, those are kept as a version of it; when what is there is another's, or kept by
// its keep bit, or a folder, it goes beside that, as "letter from 2026-11-25.txt"; when the same is
// still there, nothing is done. Folders that are missing are made. What comes back has from its
// first moment on the owner, class, access bits and addresses it had, as far as there still are
// such accounts and classes; where it takes a file's place, only those bits that both give.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "fs/caller.h"
#include "fs/path.h"
#include "fs/result.h"
#include "fs/snapshot.h"

namespace stationer::fs {

class Volume;

// What is wanted: files and folders with all that is in them, or everything that an account owns.
struct ReturnWish {
  std::vector<Path> paths;
  std::string account;  // its name when the snapshot was taken; empty: only the paths
};

struct Returned {
  std::uint64_t files = 0;  // brought back: where nothing was, in others' places, and beside
  std::uint64_t same = 0;   // were there as they are in the snapshot
  // Those whose other contents are a version now, where those are that went beside another, and
  // what could not be brought back, in sentences; the first of them.
  std::vector<std::string> replaced;
  std::vector<std::string> beside;
  std::vector<std::string> failures;
  std::uint64_t replaced_count = 0;
  std::uint64_t beside_count = 0;
  std::uint64_t failed = 0;
};

// `file` is a path on the host. Managers and the keeper only. Code::not_found, before anything is
// changed, when the snapshot has nothing of what is wanted; Code::damaged when it is not whole.
Result<Returned> return_from_snapshot(Volume& volume, const Caller& caller, const std::string& file,
                                      const ReturnWish& wish, const SnapshotProgress& progress);

}  // namespace stationer::fs
