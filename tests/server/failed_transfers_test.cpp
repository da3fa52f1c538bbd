#include "server/failed_transfers.h"

#include <catch2/catch.hpp>

using namespace stationer;
using namespace std::chrono_literals;
using server::FailedTransfer;
using server::FailedTransfers;

namespace {

FailedTransfer failed(const std::string& address, fs::Time at = fs::Time(1h)) {
  return {at, "tftp", address, "tide.com", false, "There is no tide.com."};
}

}  // namespace

TEST_CASE("the latest failed transfers are kept, and no more than fifty") {
  FailedTransfers transfers;
  for (int i = 0; i < 60; ++i) transfers.add(failed(std::to_string(i)));
  CHECK(transfers.recent().size() == FailedTransfers::most);
  CHECK(transfers.recent().front().address == "59");
}

TEST_CASE("a station that asks in vain all day does not fill the journal, nor do many of them") {
  FailedTransfers transfers;
  const auto journalled = [&](const std::string& address, fs::Time at) {
    int count = 0;
    for (int i = 0; i < 500; ++i) count += transfers.add(failed(address, at)) ? 1 : 0;
    return count;
  };
  CHECK(journalled("10.0.0.7", fs::Time(1h)) == FailedTransfers::most_a_minute);
  CHECK(journalled("10.0.0.8", fs::Time(1h + 59s)) == FailedTransfers::most_a_minute);
  CHECK(journalled("10.0.0.7", fs::Time(1h + 60s)) == FailedTransfers::most_a_minute);
  int all = 0;
  for (int i = 0; i < 1000; ++i) {
    all += transfers.add(failed(std::to_string(i), fs::Time(2h))) ? 1 : 0;
  }
  CHECK(all == FailedTransfers::most_a_minute_of_all);
}
