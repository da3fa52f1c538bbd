// Names to sign in with, made of names as people say them: letters and digits that every keyboard
// has, and short enough for a folder on any machine. Pure.
#pragma once

#include <functional>
#include <string>
#include <string_view>

namespace stationer::admin {

inline constexpr std::size_t longest_made_name = 8;

// The given name and the beginning of the family name, "robinf" of "Robin Fenn"; more of the family
// name, "robinfe", or a number, "robinf2", while `taken` says so of what came out. The given name
// is the first word, the family name the last one. Empty when there is no Latin letter in it.
std::string sign_in_name(std::string_view full_name,
                         const std::function<bool(const std::string&)>& taken);

}  // namespace stationer::admin
