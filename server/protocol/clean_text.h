// What a far end calls things, made fit for the journal and screens. Pure.
#pragma once

#include <string>
#include <string_view>

namespace stationer::server {

// `bytes` as UTF-8 without control characters, read as Latin-1 where they are not UTF-8.
std::string clean_text(std::string_view bytes);

}  // namespace stationer::server
