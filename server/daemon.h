// The service: one volume, its spool, its doors and the control socket, on one event loop.
#pragma once

#include <functional>
#include <memory>
#include <string>

#include "fs/result.h"

namespace stationer::server {

// Serves the volume in `directory` until SIGTERM or SIGINT. `say` takes the lines for whoever
// started it: "door NAME ADDRESS PORT" for each open door, then "ready". An error, in a sentence,
// when it can't start.
fs::Status serve(const std::string& directory, const std::function<void(const std::string&)>& say);

}  // namespace stationer::server
