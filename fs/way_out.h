// What is said wherever the catalogue turns out to be damaged beyond mending.
#pragma once

#include <string_view>

namespace stationer::fs {

inline constexpr std::string_view way_out =
    "The contents themselves lie under their names in files/. A snapshot makes the whole volume "
    "again: stationer snapshot restore FILE FOLDER (they lie in snapshots/, or where volume.toml "
    "says)";

}  // namespace stationer::fs
