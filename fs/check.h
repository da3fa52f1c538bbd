// The check: compares the catalogue with itself, with the memory and with the host's files, and
// says in sentences what does not agree. Asked to, it mends what it can.
//
// Repair never deletes contents. What has lost its place goes to the folder /found, which only
// managers see; what stands in somebody's way goes to rescued/ in the volume. Each mend is a commit
// like any other (invariant 1), stands in the journal, and looks again before it acts. A second
// repair finds nothing but what no program can mend, which it says.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "fs/caller.h"
#include "fs/records.h"
#include "fs/result.h"

namespace stationer::fs {

class Engine;

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
  Kind kind = Kind::catalogue;
  std::string path;      // what it is about
  std::string sentence;  // what was found
  std::string remedy;    // what repair does about it; or, where it can't, what to do oneself
  bool can_mend = false;
  bool mended = false;
};

const char* finding_name(Finding::Kind kind);

struct CheckReport {
  std::uint64_t files = 0;  // compared
  std::uint64_t folders = 0;
  std::uint64_t bytes = 0;   // read and hashed
  std::uint64_t lost = 0;    // files marked by an earlier repair: their contents are gone
  std::uint64_t mended = 0;  // of the findings
  std::vector<Finding> findings;
};

struct CheckOptions {
  bool repair = false;
  // Repair also when so much is missing that a disk may not be mounted.
  bool accept_loss = false;
  Caller caller = keeper_at_the_box();  // for the journal
  // Called with nodes done and in all.
  std::function<void(std::uint64_t, std::uint64_t)> progress{};
};

// Holds nobody up for long: it reads contents outside all locks. What is being changed meanwhile is
// looked at a second time before it is reported.
Result<CheckReport> check(Engine& engine, const CheckOptions& options);

}  // namespace stationer::fs
