// Which printouts somebody means, as it is typed behind find and bind.
#pragma once

#include <string>
#include <string_view>

#include "fs/printout_filter.h"
#include "fs/result.h"
#include "server/terminal/command.h"

namespace stationer::server {

struct PrintoutWish {
  std::string words;  // as typed, quotes and all
  fs::PrintoutFilter filter;
};

// The first word of a line, or all that is in quotes, and what comes after it.
FirstWord first_part(std::string_view line);

// Words, and among them "of NAME", "of +CLASS", "queue NAME", "since DAY" and "until DAY". In
// quotes these, too, are words that are looked for. Code::bad_input for what is no day.
fs::Result<PrintoutWish> printout_wish(std::string_view line);

}  // namespace stationer::server
