// Who may do what with a file or folder, in words.
#pragma once

#include <string>

#include "server/session.h"

namespace stationer::server {

// `view` is what the session shows of `path`. Says also when others can't get to it because of a
// folder above.
std::string access_in_words(const Session& session, const fs::Path& path, const fs::NodeView& view);

}  // namespace stationer::server
