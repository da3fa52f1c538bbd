// The ways from text to PDF that pdf_bench compares. The text is pages of 66 lines, each ended by a
// line feed, of up to 80 ASCII characters.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace stationer::bench {

struct Way {
  std::string name;
  // Bytes of PDF made of the text.
  std::function<std::uint64_t(std::string_view text)> make;
  bool starts_programs = false;  // outside this process, so a short job is measured with starting
};

// Those whose libraries and programs are there; `missing` tells of the others.
std::vector<Way> ways(std::vector<std::string>& missing);

}  // namespace stationer::bench
