// Lists with values separated by commas, semicolons or tabs, by RFC 4180. Beyond it: lines may end
// in LF or CR alone, a last line needs no end, and a quote amid a value that did not begin with one
// is a character like others.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "fs/result.h"

namespace stationer::admin {

struct CsvRecord {
  std::size_t line = 1;  // where it begins
  std::vector<std::string> values;
  // In quotes, a value has more behind the closing one.
  bool torn = false;
};

// All of `text`; lines with nothing but spaces in them are left out. Code::bad_input, with the
// line, for a quote that is never closed.
fs::Result<std::vector<CsvRecord>> read_csv(std::string_view text, char separator);

}  // namespace stationer::admin
