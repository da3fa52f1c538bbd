// Takes from this process all that it does not need to turn bytes it is sent into bytes it sends
// back. There is no way out.
#pragma once

#include <chrono>
#include <cstdint>

#include "fs/result.h"

namespace stationer::print {

struct CageLimits {
  std::uint64_t memory = std::uint64_t{512}
                         << 20;         // bytes of address space, the program's included
  std::chrono::seconds processor{120};  // its time in all
};

// From now on: descriptors that are open may be read and written, memory may be had up to the
// limit, and the process may end. Any other call to the host kills it, with SIGSYS; too much
// processor time does, with SIGXCPU. The process must have one thread.
fs::Status lock_cage(const CageLimits& limits);

}  // namespace stationer::print
