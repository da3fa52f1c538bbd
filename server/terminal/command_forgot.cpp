// forgot: a member of one's classes has forgotten the password, and gets one that is made up.
#include <fmt/format.h>

#include "fs/crypto.h"
#include "fs/text.h"
#include "server/terminal/command.h"

namespace stationer::server {
namespace {

// Only of members: what leaders and managers may do is not to be had by a word at a terminal.
fs::Status may_renew(const Session& session, const fs::Result<fs::AccountView>& account) {
  if (!account) return account.error();
  if (auto allowed = session.may_set_password(account->name); !allowed) return allowed;
  if (account->role == fs::Role::member) return {};
  return fs::Error{fs::Code::denied,
                   fmt::format("{} is a {}. Whoever keeps this room gives them a new password.",
                               account->name, fs::role_name(account->role))};
}

}  // namespace

Task<void> command_forgot(Call call) {
  Session& session = call.session;
  Room& room = session.room();
  // Names tried in vain are slowed down as wrong passwords are.
  const auto wait = room.throttle.wait(session.address(), session.name(), room.loop.now());
  if (wait.count() != 0) {
    call.terminal.say(
        fmt::format("That was wrong too often. Wait {} seconds, then try again.", wait.count()));
    co_return;
  }
  const std::string name = fs::ascii_lower(call.words[0]);
  const auto account = room.volume.people().account(std::string_view(name));
  if (const auto allowed = may_renew(session, account); call.refused(allowed)) {
    room.throttle.wrong(session.address(), session.name(), room.loop.now());
    co_return;
  }
  std::string password = fs::random_password();
  const auto changed = co_await session.set_password(name, password);
  if (!call.refused(changed)) {
    room.tell(account->id, fmt::format("{} has given you a new password.", session.name()));
    call.terminal.say(
        fmt::format("The new password of {} is {}. It is shown only now: write it "
                    "down for them. The word password changes it.",
                    name, password));
  }
  fs::wipe(password);
}

}  // namespace stationer::server
