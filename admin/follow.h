// Work on a whole volume that the control methods start and tell of until it is over.
#pragma once

#include <functional>
#include <string>

#include <boost/json/object.hpp>

#include "admin/channel.h"
#include "fs/result.h"

namespace stationer::admin {

// Starts WORK.start and asks for WORK.show until it is over, then gives all of it. `unless_ours` is
// why not to follow what somebody else has started; empty to follow that as well. `waiting` is told
// of each answer before.
fs::Result<Channel::Listing> follow(
    Channel& channel, const std::string& work, boost::json::object params,
    const std::string& unless_ours,
    const std::function<void(const boost::json::object& state)>& waiting = {});

}  // namespace stationer::admin
