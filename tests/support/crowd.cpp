// Puts a great many people and stations into a volume, without a service and without passwords, so
// that tests of lists have something to look at:
//
//   crowd VOLUME ACCOUNTS STATIONS
//
// Accounts member0001 and so on, half of them of the class "evening"; stations s001 and so on, 250
// on a segment.
#include <cstdio>
#include <cstdlib>

#include <fmt/format.h>

#include "fs/volume.h"

using namespace stationer;

namespace {

constexpr int on_segment = 250;

bool is_done(const fs::Ticket& ticket) {
  const auto done = ticket.wait();
  if (!done) std::fputs((done.error().message + "\n").c_str(), stderr);
  return done.has_value();
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 4) return 2;
  auto volume = fs::Volume::open(argv[1]);
  if (!volume) return std::fputs(volume.error().message.c_str(), stderr), 1;
  const fs::Caller keeper = fs::keeper_at_the_box();
  // Each waits for the disk together with all before it.
  fs::Ticket last;
  const int accounts = std::atoi(argv[2]);
  for (int i = 1; i <= accounts; ++i) {
    last = (*volume)->people().add_account(
        keeper, {fmt::format("member{:04}", i), fmt::format("Member Number {}", i),
                 fs::Role::member, i % 2 == 0 ? "evening" : "", ""});
  }
  if (accounts > 0 && !is_done(last)) return 1;
  const int stations = std::atoi(argv[3]);
  for (int i = 0; i < stations; ++i) {
    fs::StationChange station;
    station.segment = static_cast<std::uint32_t>(2 + i / on_segment);
    station.number = static_cast<std::uint32_t>(1 + i % on_segment);
    station.name = fmt::format("s{:03}", i + 1);
    station.address = fmt::format("10.1.{}.{}", i / on_segment, 1 + i % on_segment);
    last = (*volume)->stations().add(keeper, station);
  }
  return stations == 0 || is_done(last) ? 0 : 1;
}
