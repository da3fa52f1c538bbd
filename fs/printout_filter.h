// Which printouts somebody means, of all that they may have.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "fs/volume.h"

namespace stationer::fs {

// All that is said has to fit.
struct PrintoutFilter {
  std::string owner{};         // an account's name; empty: anybody's, and those of nobody
  std::string klass{};         // a class that the owner is in
  std::string queue{};         //
  std::optional<Time> from{};  // printed not before
  std::optional<Time> to{};    // printed before
};

// Those of what Desk::printouts() gives the caller that are meant, newest first. Code::not_found
// for an account or a class that is not there.
Result<std::vector<PrintoutView>> meant_printouts(Volume& volume, const Caller& caller,
                                                  const PrintoutFilter& filter);

}  // namespace stationer::fs
