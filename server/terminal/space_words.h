// How much room there is, in words.
#pragma once

#include <string>

#include "fs/files.h"

namespace stationer::server {

// For somebody who is near a limit or over it: how near, and what to do.
std::string space_warning(const fs::Files::Space& space);

// All of it: what is in use, the limits, what is left.
std::string space_in_words(const fs::Files::Space& space);

}  // namespace stationer::server
