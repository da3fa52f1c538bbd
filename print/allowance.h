// How many pages more an account may print in a queue. Pure: what was printed and the time are
// handed in.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "fs/ids.h"

namespace stationer::print {

// Of one account in one queue; 0: no limit. A day is one of the box's own time zone, a week begins
// on Monday.
struct PageLimits {
  std::uint64_t day = 0;
  std::uint64_t week = 0;
};

struct PagesUsed {
  std::uint64_t day = 0;
  std::uint64_t week = 0;
};

struct Allowance {
  std::uint64_t left = 0;
  std::string setting;  // in volume.toml: "pages_per_day"
  std::string words;    // the limit, what is used, what is left, and when it begins anew
};

// The nearer of the two limits, or of two equally near ones the one that lasts longer; nothing when
// there is none.
std::optional<Allowance> allowance(const PageLimits& limits, const PagesUsed& used,
                                   std::string_view queue, fs::Time now);

}  // namespace stationer::print
