// What volume.toml says of doors, serial lines and stations, in words.
#pragma once

#include <vector>

#include "fs/settings_words.h"

namespace stationer::server {

// What every door has is in the table "door.NAME"; a door's own table has its port, and what else
// it has.
std::vector<fs::TableWords> settings_words();

}  // namespace stationer::server
