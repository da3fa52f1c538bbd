// The files of print/profiles, which are built into the program.
#pragma once

#include <span>
#include <string_view>

namespace stationer::print {

struct ProfileText {
  std::string_view name;  // of the file, without .toml
  std::string_view text;
};

std::span<const ProfileText> ready_made_profiles();

}  // namespace stationer::print
