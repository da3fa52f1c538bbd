// Contents between a volume and the person's own files, in pieces.
#pragma once

#include <string>
#include <string_view>

#include <boost/json/object.hpp>

#include "admin/channel.h"
#include "fs/result.h"

namespace stationer::admin {

// Fetches what `method` opens ("file.open", "printout.open") into the local file `local`, or one of
// its own name where that is a folder, or in the current folder when it is empty. "-" is standard
// output. What the method says is missing in it is told.
fs::Status fetch(Channel& channel, std::string_view method, boost::json::object params,
                 const std::string& local, bool replace);

// Saves the local file `local` by file.save. "-" is standard input.
fs::Status send(Channel& channel, const std::string& local, boost::json::object params);

}  // namespace stationer::admin
