// Classes that are to look up from their machines: their members may neither save nor print for
// now. Forgotten when the service stops. Pure; times are the loop's.
#pragma once

#include <algorithm>
#include <chrono>
#include <map>
#include <string>
#include <string_view>

#include <fmt/format.h>

#include "fs/cause.h"
#include "fs/people.h"
#include "fs/result.h"
#include "server/protocol/time.h"

namespace stationer::server {

class Freeze {
 public:
  // Whoever forgets to end one ends it all the same.
  static constexpr std::chrono::minutes longest{60};

  void begin(std::string klass, std::string by, Time until) {
    frozen_[std::move(klass)] = {std::move(by), until};
  }
  // False when there was none.
  bool end(std::string_view klass, Time now) {
    const auto found = frozen_.find(klass);
    if (found == frozen_.end()) return false;
    const bool was = now < found->second.until;
    frozen_.erase(found);
    return was;
  }
  bool any() const { return !frozen_.empty(); }

  // Code::busy for a member of a class that is frozen; never for its leaders and managers.
  fs::Status check(const fs::AccountView& account, Time now) const {
    if (account.role == fs::Role::manager) return {};
    for (const auto& [klass, frozen] : frozen_) {
      const auto in = [&klass = klass](const auto& all) {
        return std::find(all.begin(), all.end(), klass) != all.end();
      };
      if (now >= frozen.until || !in(account.classes) || in(account.leads)) continue;
      return fs::because(
          fs::Frozen{klass, frozen.by}, fs::Code::busy,
          fmt::format("Eyes front: {} has stopped saving and printing in {} for now.", frozen.by,
                      klass));
    }
    return {};
  }

 private:
  struct Frozen {
    std::string by;
    Time until;
  };
  std::map<std::string, Frozen, std::less<>> frozen_;
};

}  // namespace stationer::server
