// What volume.toml says of printing, in words.
#pragma once

#include <vector>

#include "fs/settings_words.h"

namespace stationer::print {

std::vector<fs::TableWords> settings_words();

}  // namespace stationer::print
