// The addresses of this machine at which others on its networks reach it.
#pragma once

#include <string>
#include <vector>

namespace stationer::server {

// Private IPv4 addresses of interfaces that are up, in the host's order, without loopback and
// link-local ones. Empty when there are none, or when the host does not tell.
std::vector<std::string> own_addresses();

}  // namespace stationer::server
