// A service with a volume of its own, and members who sit down at its terminal door by the hundred.
#pragma once

#include <cstdio>
#include <fstream>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <sys/resource.h>

#include "fs/volume.h"
#include "tests/support/plain_client.h"
#include "tests/support/serving.h"
#include "tests/support/temp_folder.h"

namespace stationer::bench {

// Each session has one end here and one in the service.
inline void allow_many_files() {
  rlimit limit{};
  ::getrlimit(RLIMIT_NOFILE, &limit);
  limit.rlim_cur = limit.rlim_max;
  ::setrlimit(RLIMIT_NOFILE, &limit);
}

// Resident memory of a process, from /proc (proc(5)).
inline double resident_mib(pid_t pid) {
  std::ifstream status(fmt::format("/proc/{}/status", pid));
  std::string word;
  while (status >> word) {
    double kib = 0;
    if (word == "VmRSS:" && status >> kib) return kib / 1024;
  }
  return 0;
}

class FullRoom {
 public:
  // Accounts member0 and so on.
  FullRoom(const char* program, int accounts) {
    allow_many_files();
    const std::string path = folder_ / "volume";
    if (!make_volume(path, accounts)) return;
    service_.emplace(program, path);
    if (!service_->is_ready()) std::fputs("The service does not start.\n", stderr);
  }

  bool is_open() const { return service_ && service_->is_ready(); }
  double mib() const { return resident_mib(service_->pid()); }

  // False, and said, when it was not let in.
  bool sit_down(int account, std::vector<test::PlainClient>& members) {
    members.push_back(test::PlainClient::tcp(service_->port("terminal")));
    const bool in = test::sign_in(members.back(), name_of(account), password);
    if (!in) fmt::print("Session {} was not let in.\n", members.size());
    return in;
  }

 private:
  static constexpr const char* password = "mill-race-at-night";
  static constexpr fs::PasswordCost cheap{1, 8192};

  static std::string name_of(int account) { return fmt::format("member{}", account); }

  static bool make_volume(const std::string& path, int accounts) {
    fs::Surroundings surroundings;
    surroundings.password_cost = cheap;
    auto volume = fs::Volume::create(path, "Full room", surroundings,
                                     "[door.terminal]\naddress = \"loopback\"\nport = 0\n"
                                     "most = 10000\nmost_per_address = 10000\n"
                                     "[door.lpd]\nopen = false\n[door.raw]\nopen = false\n"
                                     "[door.ftp]\nopen = false\n");
    if (!volume) return std::fputs(volume.error().message.c_str(), stderr), false;
    for (int i = 0; i < accounts; ++i) {
      auto added = (*volume)->people().add_account(
          fs::keeper_at_the_box(), {name_of(i), "", fs::Role::member, "", password});
      if (!added.wait()) return std::fputs("An account was not added.\n", stderr), false;
    }
    return true;
  }

  test::TempFolder folder_;
  std::optional<test::Serving> service_;
};

}  // namespace stationer::bench
