// Print jobs of a listing as they are told.
#pragma once

#include <string>

#include <boost/json/object.hpp>

namespace stationer::admin {

// "held", "waiting" …; of the one that is being printed the page that is being drawn: "page 12".
std::string job_state_of(const boost::json::object& job);

// How far the one that is being printed was read: "3.0M of 5.0M"; nothing of others.
std::string job_read_of(const boost::json::object& job);

}  // namespace stationer::admin
