#include "server/failed_transfers.h"

namespace stationer::server {

bool FailedTransfers::add(FailedTransfer failed) {
  const auto minute = std::chrono::floor<std::chrono::minutes>(failed.at);
  if (minute != minute_) {
    minute_ = minute;
    in_minute_.clear();
    all_in_minute_ = 0;
  }
  bool for_journal = all_in_minute_ < most_a_minute_of_all;
  if (for_journal) for_journal = in_minute_[failed.address]++ < most_a_minute;
  if (for_journal) ++all_in_minute_;
  recent_.push_front(std::move(failed));
  if (recent_.size() > most) recent_.pop_back();
  return for_journal;
}

}  // namespace stationer::server
