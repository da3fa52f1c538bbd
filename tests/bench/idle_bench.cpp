// What stations that are signed in and do nothing cost: the memory of the service, and how long
// another member waits for an answer among them. The aim is 1,000 sessions in 64 MiB.
//
//   idle_bench PROGRAM [SESSIONS]
#include <chrono>
#include <cstdlib>

#include "tests/bench/full_room.h"

using namespace stationer;
using test::PlainClient;

namespace {

constexpr double aim_mib = 64;

double microseconds_a_command(PlainClient& member, int rounds) {
  const auto start = std::chrono::steady_clock::now();
  for (int i = 0; i < rounds; ++i) {
    if (!member.send("space\n") || !member.until("> ")) return 0;
  }
  const std::chrono::duration<double, std::micro> taken = std::chrono::steady_clock::now() - start;
  return taken.count() / rounds;
}

void print_row(int sessions, double mib, double microseconds) {
  fmt::print("{:>9} {:>8.1f} {:>8.2f} {:>16.0f}\n", sessions, mib, mib / aim_mib, microseconds);
}

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2) return 2;
  const int sessions = argc > 2 ? std::atoi(argv[2]) : 1000;
  bench::FullRoom room(argv[1], 1);
  if (!room.is_open()) return 1;
  fmt::print("{:>9} {:>8} {:>8} {:>16}\n", "sessions", "MiB", "of aim", "µs a command");
  std::vector<PlainClient> members;
  if (!room.sit_down(0, members)) return 1;
  print_row(1, room.mib(), microseconds_a_command(members.front(), 2000));
  while (members.size() < static_cast<std::size_t>(sessions)) {
    if (!room.sit_down(0, members)) return 1;
  }
  const double mib = room.mib();
  print_row(sessions, mib, microseconds_a_command(members.front(), 2000));
  return 0;
}
