// What the parts of Leavers share. Nobody else uses it.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fs/leavers.h"

namespace stationer::fs {

// One node that is theirs.
struct Leavers::Work {
  Node node;
  HostPath path;  // also its name in the archive
  bool in_bin = false;
};

struct Leavers::Person {
  Account account;
  std::vector<std::string> classes;
  std::vector<Work> works;        // folders before what is in them
  std::vector<Receipt> receipts;  // of what they handed in, oldest first
  std::vector<Work> copies;       // of that, in others' hands
  std::vector<Version> versions;  // of all these
  std::vector<Printout> printouts;
  std::vector<Notice> notices;  // for them
  std::uint64_t bytes = 0;
  std::size_t kept = 0;  // of the works outside the bin: those with the keep bit
  Hash fingerprint{};    // of the works' paths and contents outside the bin
};

// Where a person's archives lie.
HostPath folder_of(const std::string& account);

std::string when(Time time);

// "1 file", "2 files".
std::string things(std::size_t count, std::string_view one, std::string_view many);

// Whether an archive is whole.
Status verify(HostFiles& files, const HostPath& path);

}  // namespace stationer::fs
