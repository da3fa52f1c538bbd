// What a control method is, for the files that hold them. Each topic gives its part of the table.
#pragma once

#include <span>
#include <string_view>

#include <boost/json/value.hpp>

#include "fs/result.h"
#include "server/control/control.h"
#include "server/control/params.h"
#include "server/task.h"

namespace stationer::server {

using Answer = fs::Result<boost::json::value>;

struct Method {
  std::string_view name;  // "account.add"
  // A coroutine on the loop's thread, which it must not hold up: what blocks goes through
  // Loop::blocking(), with copies of all that it needs.
  Task<Answer> (*run)(ControlClient& client, Params params);
};

std::span<const Method> account_methods();
std::span<const Method> adopt_methods();
std::span<const Method> check_methods();
std::span<const Method> class_methods();
std::span<const Method> door_methods();
std::span<const Method> file_methods();
std::span<const Method> hand_in_methods();
std::span<const Method> journal_methods();
std::span<const Method> leaver_methods();
std::span<const Method> line_methods();
std::span<const Method> printout_methods();
std::span<const Method> queue_methods();
std::span<const Method> report_methods();
std::span<const Method> snapshot_methods();
std::span<const Method> station_methods();
std::span<const Method> status_methods();
std::span<const Method> stream_methods();
std::span<const Method> why_methods();
std::span<const Method> year_methods();

// All of them.
std::span<const std::span<const Method>> control_methods();

// The answers of methods that have nothing to say but whether it worked: an empty object.
Task<Answer> changed(ControlClient& client, fs::Ticket ticket);  // once it is durable
Answer done(const fs::Status& status);

}  // namespace stationer::server
