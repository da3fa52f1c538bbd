// The printouts of a class, a person or a queue in a span of time, as one PDF: a page or more of
// contents, then person by person what each has printed, in the order of time.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "fs/printout_filter.h"
#include "print/bytes.h"

namespace stationer::print {

struct Collected {
  std::size_t printouts = 0;
  std::size_t pages = 0;             // with those of the contents
  std::vector<std::string> missing;  // what could not be read, a sentence each
};

inline constexpr std::size_t most_collected_pages = 20'000;

// Writes the printouts that are meant and that the caller may have. Code::not_found when there are
// none, Code::over_quota when they are more than most_collected_pages. Equal printouts give equal
// bytes, whenever it is done.
fs::Result<Collected> collect_printouts(fs::Volume& volume, const fs::Caller& caller,
                                        const fs::PrintoutFilter& filter, const ByteSink& sink);

}  // namespace stationer::print
