// The page in front of a printout that says whose it is.
#pragma once

#include <string>
#include <string_view>

#include "print/layout.h"
#include "print/metadata.h"
#include "print/page_gate.h"

namespace stationer::print {

fs::Status print_banner(const Metadata& about, const Layout& layout, PageSink sink);

// What a later part of a job that was split is called; `part` is 1 for the second.
std::string part_title(std::string_view title, std::size_t part);

}  // namespace stationer::print
