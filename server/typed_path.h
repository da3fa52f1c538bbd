// A path as somebody types it at their station: by the names it shows them, by the store's own, or
// spelled; divided as their system divides paths, or by /.
#pragma once

#include <string_view>

#include "fs/path.h"
#include "fs/result.h"

namespace stationer::server {

class Session;

// From where the session stands, or from the top when it begins with a division. "." and ".." are
// as in fs::Path::parse(), and so is what is refused. Where a dot divides, a whole name with a dot
// in it still means what is called so.
fs::Result<fs::Path> typed_path(const Session& session, std::string_view typed);

}  // namespace stationer::server
