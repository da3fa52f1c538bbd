// Queues as the keeper sets them up in volume.toml: [print] and [queue.…]. print/settings_words.cpp
// says of each key what it is for.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "fs/result.h"
#include "print/allowance.h"
#include "print/profile.h"
#include "print/render.h"

namespace stationer::print {

enum class Policy : std::uint8_t { straight, owner, leader };

struct Queue {
  std::string name;  // lower case
  std::string title;
  std::string profile;
  Settings settings;
  Policy policy = Policy::straight;
  PageLimits limits;  // of each member
  Splitting split;
  bool banner = false;
};

// What becomes of jobs and printouts after printing.
struct Keeping {
  std::uint32_t printout_days = 0;  // how long printouts are kept; 0: for ever
  std::uint32_t again_days = 7;     // what came in, so that it can be printed again; 0: not at all
  std::uint64_t again_bytes = std::uint64_t{256} << 20;  // and no more than that of it, the newest
};

struct Queues {
  std::vector<Queue> all;                // by name; at least one
  std::vector<PrinterProfile> printers;  // the ready-made ones, and the keeper's own
  std::string otherwise;                 // the name of the one for jobs that name none
  Keeping keeping;
  bool confined = true;  // jobs are turned into pages in processes that can do nothing else

  // By name in any case; an empty name is the default queue. Null when there is none.
  const Queue* find(std::string_view name) const;
};

// Reads the text of volume.toml. Without any queue in it there is one, "paper". Code::bad_input
// with the line for what can't be right.
fs::Result<Queues> read_queues(std::string_view settings_text);

// What a new volume's settings say about queues; `profile` is that of its one queue.
std::string new_queue_settings(std::string_view profile = "plain-80");

}  // namespace stationer::print
