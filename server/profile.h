// What a kind of machine needs, as volume.toml has it under [profile.NAME]. Each registered station
// has one; a station that is not known has the usual one.
#pragma once

#include <cstdint>
#include <string>

#include "fs/name_style.h"
#include "server/protocol/text_out.h"

namespace stationer::server {

struct Profile {
  std::string name = "usual";
  Screen screen;  // its characters, and the line ends of texts on their way to it
  int rows = 24;
  const fs::NameStyle* names = &fs::name_styles().front();
  // The block number that follows 65,535 in TFTP, which no RFC decides: 0 or 1.
  std::uint16_t block_after_last = 0;
};

}  // namespace stationer::server
