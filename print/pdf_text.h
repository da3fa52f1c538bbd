// The text of our PDFs, read back line by line: what searching finds.
#pragma once

#include <functional>
#include <string_view>

#include "fs/result.h"
#include "print/open_content.h"

namespace stationer::print {

// Calls use() for each page with its text in UTF-8: lines from top to bottom, each with a line feed
// at its end, several blanks in a row as one. Code::damaged when it is none of our PDFs.
fs::Status each_page_text(const OpenContent& open,
                          const std::function<fs::Status(std::string_view text)>& use);

}  // namespace stationer::print
