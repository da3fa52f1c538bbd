// What a kind of machine needs, as volume.toml has it: [profile.…], and who may use the doors at all:
// [stations]. server/settings_words.cpp says of each key what it is for.
//
// Each registered station may have one; what is not known has the usual one, which [profile.usual]
// changes. At a terminal it says more than the door's own settings, and what is said there more
// than it.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <string_view>

#include "fs/name_style.h"
#include "fs/result.h"
#include "print/queue.h"
#include "server/protocol/text_out.h"

namespace stationer::server {

struct Profile {
  std::string name = "usual";
  Screen screen;  // its characters, and the line ends of texts on their way to it
  int rows = 24;
  const fs::NameStyle* names = &fs::name_styles().front();
  std::string queue;  // empty: the door's own
  // The block number that follows 65,535 in TFTP, which no RFC decides: 0 or 1.
  std::uint16_t block_after_last = 0;
};

using Profiles = std::map<std::string, Profile, std::less<>>;

// What the settings say about stations.
struct StationPlan {
  Profiles profiles;  // by their names; "usual" is always among them
  bool unknown = true;

  StationPlan() { profiles.emplace("usual", Profile()); }
};

// Reads the [profile.…] and [stations] tables of volume.toml. Code::bad_input with the line for
// what can't be right. `queues` are those of the same text.
fs::Result<StationPlan> read_station_plan(std::string_view settings_text,
                                          const print::Queues& queues);

}  // namespace stationer::server
