// What accounts, classes and passwords must be like. Pure rules.
#pragma once

#include <string>
#include <string_view>

#include "fs/result.h"

namespace stationer::fs {

inline constexpr std::size_t longest_account_name = 16;
inline constexpr std::size_t shortest_password = 8;  // NIST SP 800-63B §5.1.1
inline constexpr std::size_t longest_password = 256;

// The stored form of a sign-in or class name: lower case, 1-16 of a-z 0-9 . - _ and starting with a
// letter or digit, so that every keyboard can type it and it can name a folder. "guest" is taken.
Result<std::string> account_name(std::string_view typed);
Result<std::string> class_name(std::string_view typed);
// The rule behind both; `what` it is the name of: "an account".
Result<std::string> plain_name(std::string_view typed, std::string_view what);

// Long enough, and not the account's own name.
Status check_new_password(std::string_view password, std::string_view account);

// A line of text for people (a full name, a title, a notice): UTF-8 without control characters.
Status check_line(std::string_view text, std::size_t most_characters, std::string_view what);

}  // namespace stationer::fs
