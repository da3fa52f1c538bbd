// The check: compares the catalogue, the memory and the host's files, and says in sentences what
// does not agree. It changes nothing.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "fs/engine.h"
#include "fs/result.h"

namespace stationer::fs {

struct Finding {
  enum class Kind {
    catalogue,  // SQLite's own checks, or rows that contradict each other
    missing,    // contents that should be on the host and are not
    changed,    // contents that are not what was saved
    stray,      // something on the host that no row knows of
    usage,      // invariant 4: the counted bytes are not the sum over the catalogue
    journal,    // an entry that is not what was written, or is missing
    strange,    // a link, device or socket where only files and folders belong
  };
  Kind kind;
  std::string path;      // what it is about
  std::string sentence;  // what was found, and what to do
};

const char* finding_name(Finding::Kind kind);

struct CheckReport {
  std::uint64_t files = 0;  // compared
  std::uint64_t folders = 0;
  std::uint64_t bytes = 0;  // read and hashed
  std::vector<Finding> findings;
};

// Holds nobody up for long: it reads contents outside all locks. What is being changed meanwhile is
// looked at a second time before it is reported. `progress` is called with files done and in all.
Result<CheckReport> check(Engine& engine,
                          const std::function<void(std::uint64_t, std::uint64_t)>& progress);

}  // namespace stationer::fs
