// Names in the letters that every keyboard has. The Unicode tables are fs/text.cpp's.
#pragma once

#include <string>
#include <string_view>

namespace stationer::fs {

// The letters and digits of ASCII that a reader takes `text` for, in lower case: by Unicode's
// compatibility decomposition without its marks, and ss for ß, ae for æ, o for ø. What has none
// comes out as it is, and so do spaces and signs. `text` must be UTF-8.
std::string plain_letters(std::string_view text);

}  // namespace stationer::fs
