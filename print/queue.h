// Queues as the keeper sets them up in volume.toml:
//
//   [print]
//   queue = "paper"             # where a job goes that names no queue
//   confined = true             # print in processes that can do nothing else; false only where the
//                               # system can't
//
//   [queue.paper]
//   title = "Plain paper"
//   profile = "plain-80"        # one of printer_profiles()
//   charset = "cp437"           # optional; else the profile's
//   language = "listing"        # optional: what jobs are written in; one of languages()
//   policy = "straight"         # "owner": held until its owner releases it; "leader": until a
//                               # leader does
//   most_pages = 200            # in one job
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "fs/result.h"
#include "print/settings.h"

namespace stationer::print {

enum class Policy : std::uint8_t { straight, owner, leader };

struct Queue {
  std::string name;  // lower case
  std::string title;
  std::string profile;
  Settings settings;
  Policy policy = Policy::straight;
};

struct Queues {
  std::vector<Queue> all;  // by name; at least one
  std::string otherwise;   // the name of the one for jobs that name none
  bool confined = true;    // jobs are turned into pages in processes that can do nothing else

  // By name in any case; an empty name is the default queue. Null when there is none.
  const Queue* find(std::string_view name) const;
};

// Reads the text of volume.toml. Without any queue in it there is one, "paper". Code::bad_input
// with the line for what can't be right.
fs::Result<Queues> read_queues(std::string_view settings_text);

// What a new volume's settings say about queues.
std::string_view new_queue_settings();

}  // namespace stationer::print
