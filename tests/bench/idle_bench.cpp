// What stations that are signed in and do nothing cost: the memory of the service, and how long
// another member waits for an answer among them. The aim is 1,000 sessions in 64 MiB.
//
//   idle_bench PROGRAM [SESSIONS]
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <sys/resource.h>

#include "fs/volume.h"
#include "tests/support/plain_client.h"
#include "tests/support/serving.h"
#include "tests/support/temp_folder.h"

using namespace stationer;
using test::PlainClient;

namespace {

constexpr double aim_mib = 64;
constexpr fs::PasswordCost cheap{1, 8192};

// Resident memory of a process, from /proc (proc(5)).
double resident_mib(pid_t pid) {
  std::ifstream status(fmt::format("/proc/{}/status", pid));
  std::string word;
  while (status >> word) {
    double kib = 0;
    if (word == "VmRSS:" && status >> kib) return kib / 1024;
  }
  return 0;
}

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
  // Each session has one end here and one in the service.
  rlimit limit{};
  ::getrlimit(RLIMIT_NOFILE, &limit);
  limit.rlim_cur = limit.rlim_max;
  ::setrlimit(RLIMIT_NOFILE, &limit);

  test::TempFolder folder;
  const std::string path = folder / "volume";
  {
    fs::Surroundings surroundings;
    surroundings.password_cost = cheap;
    auto volume = fs::Volume::create(path, "Idle bench", surroundings,
                                     "[door.terminal]\naddress = \"loopback\"\nport = 0\n"
                                     "most = 10000\nmost_per_address = 10000\n"
                                     "[door.lpd]\nopen = false\n[door.raw]\nopen = false\n");
    if (!volume) return std::fputs(volume.error().message.c_str(), stderr), 1;
    auto added = (*volume)->people().add_account(
        fs::keeper_at_the_box(), {"wren", "", fs::Role::member, "", "mill-race-wren"});
    if (!added.wait()) return 1;
  }
  test::Serving service(argv[1], path);
  if (!service.is_ready()) return std::fputs("The service does not start.\n", stderr), 1;

  fmt::print("{:>9} {:>8} {:>8} {:>16}\n", "sessions", "MiB", "of aim", "µs a command");
  std::vector<PlainClient> members;
  const auto sit_down = [&] {
    members.push_back(PlainClient::tcp(service.port("terminal")));
    return test::sign_in(members.back(), "wren", "mill-race-wren");
  };
  if (!sit_down()) return 1;
  print_row(1, resident_mib(service.pid()), microseconds_a_command(members.front(), 2000));
  while (members.size() < static_cast<std::size_t>(sessions)) {
    if (!sit_down()) {
      fmt::print("Session {} was not let in.\n", members.size());
      return 1;
    }
  }
  const double mib = resident_mib(service.pid());
  print_row(sessions, mib, microseconds_a_command(members.front(), 2000));
  return 0;
}
