// Words of a command line at the box.
#pragma once

#include <string>
#include <string_view>

namespace stationer::server {

// In quotes when a shell would make something else of it.
std::string in_shell(std::string_view word);

}  // namespace stationer::server
