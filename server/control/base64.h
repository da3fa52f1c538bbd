// Base64 with its padding (RFC 4648 §4): how contents travel in JSON.
#pragma once

#include <string>
#include <string_view>

#include "fs/result.h"

namespace stationer::server {

std::string base64(std::string_view bytes);

// Code::bad_input for anything that base64() does not give: foreign characters, line ends, wrong
// padding, left-over bits that are not zero (RFC 4648 §3.3, §3.5).
fs::Result<std::string> from_base64(std::string_view text);

}  // namespace stationer::server
