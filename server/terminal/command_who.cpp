// who: the names of those who are here; leaders and managers also see where and what at.
#include <algorithm>

#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/table.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

std::string names_only(const std::vector<SessionView>& sessions) {
  std::vector<std::string> names;
  std::size_t others = 0;
  for (const auto& each : sessions) {
    if (each.signed_in) {
      names.push_back(each.name);
    } else {
      ++others;
    }
  }
  std::sort(names.begin(), names.end());
  names.erase(std::unique(names.begin(), names.end()), names.end());
  std::string out;
  if (!names.empty()) {
    out = fmt::format("{} {} here.\n", listed(names), names.size() == 1 ? "is" : "are");
  }
  if (others > 0) {
    out += fmt::format("{} {} not signed in.\n", others, others == 1 ? "is" : "are");
  }
  return out;
}

std::string in_full(std::vector<SessionView> sessions, int columns) {
  std::sort(sessions.begin(), sessions.end(), [](const SessionView& a, const SessionView& b) {
    return a.name != b.name ? a.name < b.name : a.number < b.number;
  });
  Table table({{"name", 0}, {"since", 3}, {"door", 2}, {"address", 1}, {"doing"}});
  for (const auto& each : sessions) {
    table.add({each.name, short_date(each.since), each.door, each.station.empty() ? each.address : each.station,
               each.doing.empty() ? "waiting" : each.doing});
  }
  return table.text(columns);
}

}  // namespace

Task<void> command_who(Call call) {
  const bool in_charge = call.session.role() != fs::Role::member;
  const auto sessions = call.session.who();
  std::string text = names_only(sessions);
  if (in_charge) text = in_full(sessions, call.terminal.columns());
  co_await call.terminal.show(std::move(text));
}

}  // namespace stationer::server
