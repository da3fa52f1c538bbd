// Text for pages in man(7)'s macros.
#pragma once

#include <string>
#include <string_view>

namespace stationer::admin {

// As roff shows it: what would be a request or an escape is not one.
std::string roff(std::string_view text);

// The same as a macro's one argument.
std::string roff_argument(std::string_view text);

// The first lines of a page, up to its description. `about` is one line. Nothing is hyphenated:
// what is to be typed is not to be broken.
std::string roff_head(std::string_view page, int section, std::string_view about);

// Another page, in a list of them.
std::string roff_reference(std::string_view page, int section, std::string_view behind = "");

}  // namespace stationer::admin
