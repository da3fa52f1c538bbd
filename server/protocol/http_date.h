// Dates as HTTP writes them: RFC 1945 §3.3.1, RFC 9110 §5.6.7.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "fs/ids.h"

namespace stationer::server {

// "Sun, 06 Nov 1994 08:49:37 GMT"
std::string http_date(fs::Time time);

// Reads that form and the two older ones, "Sunday, 06-Nov-94 08:49:37 GMT" and "Sun Nov  6 08:49:37
// 1994". A year of two digits that would be more than 50 years ahead of `now` is in the past
// century. The name of the day is not compared. Nothing for what is no date.
std::optional<fs::Time> read_http_date(std::string_view text, fs::Time now);

}  // namespace stationer::server
