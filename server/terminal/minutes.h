// Minutes as they are typed.
#pragma once

#include <chrono>
#include <string_view>

#include "fs/result.h"

namespace stationer::server {

// From 1 to `most`. Code::bad_input.
fs::Result<std::chrono::minutes> minutes_of(std::string_view typed, std::chrono::minutes most);

}  // namespace stationer::server
