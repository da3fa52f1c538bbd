// The printers that there are: the ready-made ones, which need no volume, and those that the
// settings of one add.
#pragma once

#include <string>
#include <vector>

#include "admin/command.h"
#include "print/profile.h"

namespace stationer::admin {

// Those of the volume, if one is named.
fs::Result<std::vector<print::PrinterProfile>> all_printers(const Program& program);

// A ready-made one without looking further. Code::bad_input with the names there are.
fs::Result<print::PrinterProfile> find_printer(const Program& program, const std::string& name);

}  // namespace stationer::admin
