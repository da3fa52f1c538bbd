// Tells when somebody has typed nothing for so long that they have left without signing off. Pure.
#pragma once

#include <algorithm>
#include <chrono>
#include <cstdint>
#include <optional>

#include "server/protocol/time.h"

namespace stationer::server {

class Idleness {
 public:
  // How long before the end they are asked whether they are there, at most; half of a patience that
  // is as short.
  static constexpr std::chrono::seconds longest_notice{60};

  enum class Says : std::uint8_t { nothing, ask, over };

  // 0: they may be quiet for ever.
  explicit Idleness(std::chrono::minutes patience) : patience_(patience) {}

  void typed(Time now) {
    last_ = now;
    asked_ = false;
  }

  // Not over before then, whatever is typed or not.
  void extend(Time until) {
    extended_ = until;
    asked_ = false;
  }

  // When tick() has something to say; never before anything was typed.
  std::optional<Time> deadline() const {
    if (patience_.count() == 0 || !last_) return std::nullopt;
    const auto notice = std::min<std::chrono::seconds>(longest_notice, patience_ / 2);
    Time end = *last_ + patience_;
    if (extended_) end = std::max(end, *extended_);
    return end - (asked_ ? std::chrono::seconds(0) : notice);
  }

  Says tick(Time now) {
    const auto due = deadline();
    if (!due || now < *due) return Says::nothing;
    if (!asked_) {
      asked_ = true;
      return Says::ask;
    }
    last_.reset();
    return Says::over;
  }

 private:
  std::chrono::seconds patience_;
  std::optional<Time> last_;
  std::optional<Time> extended_;
  bool asked_ = false;
};

}  // namespace stationer::server
