// A text for a machine that has no program to receive files, but can record what it is shown.
#pragma once

#include "fs/path.h"
#include "server/task.h"
#include "server/terminal/command.h"

namespace stationer::server {

inline constexpr std::string_view plain_way = "plain";

// Between two Enters, nothing but the text goes over the line, at the line's own pace.
Task<void> send_plain(Call& call, const fs::Path& file);

}  // namespace stationer::server
