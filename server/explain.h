// Why something was refused, in words: the rule that did it, and the one command at the box that
// would let it pass next time. Says what the rule itself left in the error (fs/cause.h) and decides
// nothing (invariant 3).
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <utility>

#include "fs/result.h"

namespace stationer::server {

struct Explanation {
  std::string rule;    // sentences; empty when nothing more is known
  std::string remedy;  // "stationer file access /programs e+w"; empty when there should be none
};

// What else the words need.
struct Circumstances {
  std::string who;        // the account that tried; empty: nobody was signed in
  bool may_lead = false;  // that account, if somebody makes it a class's leader
  std::string station;    // its name; empty: none that is registered
  std::string asked;      // what was tried with
  // A free number for a station that is to be registered.
  std::function<std::pair<std::uint32_t, std::uint32_t>()> free_number;
};

Explanation explain(const fs::Error& error, const Circumstances& circumstances);

// The same for whoever it happened to, who is told no more of what they may not see: why, and whom
// to ask.
std::string explain_to_member(const fs::Error& error);

}  // namespace stationer::server
