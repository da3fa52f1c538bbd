// Where bytes come from and go to, in pieces. Files and sockets stay with whoever calls.
#pragma once

#include <cstddef>
#include <functional>
#include <span>
#include <string_view>

#include "fs/result.h"

namespace stationer::print {

// Fills some or all of the span and tells how much; 0 is the end.
using ByteSource = std::function<fs::Result<std::size_t>(std::span<char>)>;

using ByteSink = std::function<fs::Status(std::string_view)>;

}  // namespace stationer::print
