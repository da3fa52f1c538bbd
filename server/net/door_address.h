// Where a door opens, and why it can't.
#pragma once

#include <string>

#include <boost/asio/ip/address.hpp>
#include <boost/system/error_code.hpp>

#include "fs/result.h"
#include "server/config.h"

namespace stationer::server {

// The address to bind. "private" is every address: a network that comes up later is served, too,
// and the door turns away what came in by an address that is not private.
fs::Result<boost::asio::ip::address> door_address(const std::string& name,
                                                  const DoorConfig& config);

// Whether who came in by that address of this machine is to be turned away.
bool turns_away(const DoorConfig& config, const boost::asio::ip::address& own);

// In a sentence, with what to do. Code::busy, Code::denied, Code::bad_input or Code::io.
fs::Error cannot_open(const std::string& name, const DoorConfig& config,
                      const boost::system::error_code& failed);

}  // namespace stationer::server
