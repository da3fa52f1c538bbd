// The session's part of leading a class: files for everybody, and everybody's eyes.
#include <algorithm>
#include <map>
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

fs::Result<std::vector<std::string>> Session::recipients(const std::string& to) const {
  if (!to.starts_with('+')) return std::vector<std::string>{to};
  std::set<std::string> all;
  const std::string klass = fs::ascii_lower(to.substr(1));
  if (klass != "all") {
    const auto led = led_class(klass);
    if (!led) return led.error();
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
  if (here.empty()) {
    return Error{Code::not_found, "Nobody you look after is signed in there now."};
  }
  return std::vector<std::string>(here.begin(), here.end());
}

Task<Session::HandedOut> Session::hand_out(std::vector<fs::Path> files, std::string to) {
  HandedOut out;
  const auto accounts = recipients(to);
  if (!accounts) {
    out.ended = accounts.error();
    co_return out;
  }
  auto& hand_ins = room_.volume.hand_ins();
  for (const fs::Path& file : files) {
    const auto later = room_.loop.blocking([&hand_ins, caller = caller_, file, to = *accounts] {
      return hand_ins.hand_out(caller, file, to);
    });
    auto carried = co_await later;
    if (!carried) {
      out.ended = carried.error();
      break;
    }
    out.carried.insert(out.carried.end(), carried->begin(), carried->end());
  }
  tell_given(out.carried);
  co_return out;
}

void Session::tell_given(const std::vector<fs::Carried>& carried) {
  std::map<std::string, std::vector<const fs::Carried*>> given;
  for (const auto& each : carried) {
    if (each.problem.empty()) given[each.account].push_back(&each);
  }
  for (const auto& [person, files] : given) {
    const auto account = room_.volume.people().account(std::string_view(person));
    if (!account) continue;
    const std::string what =
        files.size() == 1 ? files[0]->name : fmt::format("{} files", files.size());
    room_.tell(account->id, fmt::format("{} has sent you {}: look in {}.", name(), what,
                                        fs::Path::parse(files[0]->to)->parent().text()));
  }
}

}  // namespace stationer::server
