// The session's part of leading a class: files for everybody, and everybody's eyes.
#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "fs/cause.h"
#include "fs/text.h"
#include "server/session.h"

namespace stationer::server {

using fs::Code;
using fs::Error;
using fs::Status;

Status Session::may_work(fs::AccountId account) const {
  if (!room_.freeze.any()) return {};
  const auto view = room_.volume.people().account(account);
  return view ? room_.freeze.check(*view, room_.loop.now()) : Status();
}

fs::Result<fs::ClassView> Session::led_class(std::string_view name) const {
  auto klass = room_.volume.people().class_of(name);
  if (!klass) return klass;
  const auto& leaders = klass->leaders;
  const bool leads = std::find(leaders.begin(), leaders.end(), this->name()) != leaders.end();
  if (leads || role() == fs::Role::manager) return klass;
  return fs::because(fs::NotOfClass{klass->name, true}, Code::denied,
                     fmt::format("You do not lead {}.", klass->name));
}

Status Session::freeze(std::string_view klass, std::chrono::minutes how_long) {
  const auto led = led_class(klass);
  if (!led) return led.error();
  room_.freeze.begin(led->name, name(), room_.loop.now() + how_long);
  room_.tell_class(*led,
                   fmt::format("Eyes front: no saving and printing in {} for now.", led->name),
                   caller_.account);
  static_cast<void>(room_.volume.desk().note(caller_, "froze", led->name,
                                             fmt::format("for {} minutes", how_long.count())));
  return {};
}

Status Session::thaw(std::string_view klass) {
  const auto led = led_class(klass);
  if (!led) return led.error();
  if (!room_.freeze.end(led->name, room_.loop.now())) {
    return Error{Code::not_found, fmt::format("{} is not frozen.", led->name)};
  }
  room_.tell_class(*led, fmt::format("Saving and printing in {} go on.", led->name),
                   caller_.account);
  static_cast<void>(room_.volume.desk().note(caller_, "thawed", led->name));
  return {};
}

Status Session::extend(std::string_view name, std::chrono::minutes how_long) {
  const auto account = room_.volume.people().account(name);
  if (!account) return account.error();
  if (account->id != caller_.account && !room_.volume.people().looks_after(caller_, account->id)) {
    return Error{Code::denied, fmt::format("You do not look after {}.", account->name)};
  }
  const auto sessions = room_.sessions_of(account->id);
  if (sessions.empty()) {
    return Error{Code::not_found, fmt::format("{} is not here.", account->name)};
  }
  for (const Session* each : sessions) {
    if (each->on_extended) each->on_extended(how_long);
  }
  return {};
}

Task<fs::Result<std::vector<fs::Carried>>> Session::hand_out(fs::Path file, std::string to) {
  std::vector<std::string> accounts;
  if (to.starts_with('+')) {
    std::set<std::string> all;
    const std::string klass = fs::ascii_lower(to.substr(1));
    if (klass != "all") {
      const auto led = led_class(klass);
      if (!led) co_return led.error();
      all.insert(led->members.begin(), led->members.end());
    }
    std::set<std::string> here;
    for (const SessionView& each : who()) {
      if (!each.signed_in || each.name == name()) continue;
      const auto account = room_.volume.people().account(std::string_view(each.name));
      const bool meant = klass == "all"
                             ? account && room_.volume.people().looks_after(caller_, account->id)
                             : all.contains(each.name);
      if (meant) here.insert(each.name);
    }
    accounts.assign(here.begin(), here.end());
    if (accounts.empty()) {
      co_return Error{Code::not_found, "Nobody you look after is signed in there now."};
    }
  } else {
    accounts.push_back(std::move(to));
  }
  auto& hand_ins = room_.volume.hand_ins();
  const auto later = room_.loop.blocking([&hand_ins, caller = caller_, file, accounts] {
    return hand_ins.hand_out(caller, file, accounts);
  });
  auto carried = co_await later;
  if (!carried) co_return carried;
  for (const auto& each : *carried) {
    const auto account = room_.volume.people().account(std::string_view(each.account));
    if (!account || !each.problem.empty()) continue;
    room_.tell(account->id, fmt::format("{} has sent you {}: look in {}.", name(), each.name,
                                        fs::Path::parse(each.to)->parent().text()));
  }
  co_return carried;
}

}  // namespace stationer::server
