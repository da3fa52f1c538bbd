// Where a copy or a move ends up.
#pragma once

#include <string_view>

#include "server/session.h"

namespace stationer::server {

// The path that `typed` means as the target for `from`: in a folder that is there, under the same
// name; else itself.
fs::Result<fs::Path> target(const Session& session, const fs::Path& from, std::string_view typed);

}  // namespace stationer::server
