// The service's end of a simulated machine's line: a transfer machine, a line that may be bad, and
// a clock that goes on by how often the machine looks whether something has come. So nothing
// depends on how fast anything runs.
#pragma once

#include <chrono>
#include <cstdint>
#include <deque>

#include "tests/support/transfer_line.h"

namespace stationer::tests {

class FarEnd {
 public:
  static constexpr std::chrono::milliseconds a_look{10};  // ten of them are LOOKS

  // Of the kind of line, only what it does to bytes counts.
  FarEnd(server::Transfer& transfer, std::vector<CarriedFile> files, LineKind line = {});

  bool came();
  std::uint8_t take();
  void give(std::uint8_t byte);

  const Player& player() const { return player_; }
  Player& player() { return player_; }
  bool out_of_time() const { return player_.now() - begun_ > std::chrono::hours(2); }

 private:
  void collect();

  Player player_;
  LineKind line_;
  server::Time begun_;
  std::deque<char> coming_;
  bool started_ = false;
};

}  // namespace stationer::tests
