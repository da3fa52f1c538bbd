// The time as protocol machines are told it: they never look at a clock themselves.
#pragma once

#include <chrono>

namespace stationer::server {

using Time = std::chrono::steady_clock::time_point;

}  // namespace stationer::server
