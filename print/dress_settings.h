// How settings say what pages look like, which printers (print/profile.h) and queues
// (print/queue.h) have in common: landscape, look, bars, edges, pages_a_sheet.
#pragma once

#include "fs/result.h"
#include "fs/settings_table.h"
#include "print/settings.h"

namespace stationer::print {

// What `table` says of it. Code::bad_input with the line for what can't be right, or doesn't fit
// the paper.
fs::Status read_dress(const toml::table& table, Settings& settings);

}  // namespace stationer::print
