#include <vector>

#include <fmt/format.h>
#include <pwd.h>

#include "server/control/control.h"

namespace stationer::server {

fs::Caller keeper_with_uid(unsigned uid) {
  fs::Caller caller = fs::keeper_at_the_box();
  passwd entry{};
  passwd* found = nullptr;
  std::vector<char> buffer(16384);
  if (::getpwuid_r(uid, &entry, buffer.data(), buffer.size(), &found) == 0 && found != nullptr) {
    caller.where += fmt::format(", user {}", found->pw_name);
  } else {
    caller.where += fmt::format(", user number {}", uid);
  }
  return caller;
}

}  // namespace stationer::server
