// Why files did not reach their stations: what the keeper is told of it. Bounded, so that a station
// that asks in vain all day fills neither memory nor the journal.
#pragma once

#include <cstddef>
#include <deque>
#include <map>
#include <string>
#include <vector>

#include "fs/ids.h"

namespace stationer::server {

struct FailedTransfer {
  fs::Time at{};
  std::string door;     // "tftp"
  std::string address;  // the station's
  std::string file;     // as it asked for it
  bool saving = false;  // it wanted to save; else to load
  std::string reason;   // a sentence
};

class FailedTransfers {
 public:
  static constexpr std::size_t most = 50;           // kept
  static constexpr int most_a_minute = 20;          // for the journal, of one station
  static constexpr int most_a_minute_of_all = 200;  // and of all together

  // Whether it is one for the journal, too.
  bool add(FailedTransfer failed);
  const std::deque<FailedTransfer>& recent() const { return recent_; }  // the newest in front

 private:
  std::deque<FailedTransfer> recent_;
  std::chrono::sys_time<std::chrono::minutes> minute_{};
  std::map<std::string, int> in_minute_;  // by station; at most as many as are journalled
  int all_in_minute_ = 0;
};

}  // namespace stationer::server
