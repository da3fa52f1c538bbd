// Paths as the station sees them: its names for what is there, divided as its system divides paths.
#pragma once

#include <string>

#include "fs/path.h"
#include "server/session.h"

namespace stationer::server {

// Whole, from the top.
std::string shown_path(const Session& session, const fs::Path& path);
// As short as it can be said from where one stands; see seen_from().
std::string shown_from_here(const Session& session, const fs::Path& path);
// For the prompt; see place().
std::string shown_place(const Session& session, int columns);
// The last name alone; not of the top.
std::string shown_name(const Session& session, const fs::Path& path);
// Where something was that is gone: its last name is nobody's now, whatever has taken it since.
fs::Path shown_removed(const Session& session, const fs::Path& path);
std::string shown_removed_from_here(const Session& session, const fs::Path& path);

}  // namespace stationer::server
