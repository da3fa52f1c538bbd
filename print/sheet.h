// A calibration sheet: a job made from a printer's profile and written in its language, to be sent
// to the real printer or to a queue, and held beside the PDF that it must become.
//
// Each page has rulers of columns at its head and foot, the number of each line at its left margin
// and a mark at its right one. Between them stand what the profile says, the styles of the
// language, and all characters of the set.
#pragma once

#include <string>

#include "print/profile.h"

namespace stationer::print {

std::string calibration_sheet(const PrinterProfile& profile);

}  // namespace stationer::print
