// The console at work: terminal, clock and fetcher around what is pure.
#pragma once

#include <string>

#include "fs/result.h"

namespace stationer::admin::console {

// Until the keeper leaves it. The volume in that directory must be there.
fs::Status run_console(const std::string& directory);

}  // namespace stationer::admin::console
