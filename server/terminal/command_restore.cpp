// restore: brings the last removal of that name back to where it was.
#include <algorithm>

#include <fmt/format.h>

#include "fs/text.h"
#include "server/terminal/command.h"
#include "server/terminal/shown.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

// `typed` is a last name or a path. Of several, one's own come before others', the newest first.
const fs::BinView* find_removal(const std::vector<fs::BinView>& bin, const Session& session,
                                std::string_view typed) {
  const auto path = session.path(typed);
  const std::string whole = path ? fs::fold(path->text()) : "";
  const std::string last = fs::fold(typed);
  const std::string meant = path && !path->is_top() ? fs::fold(path->last()) : "";
  const auto fits = [&](const fs::BinView& each) {
    const auto was = fs::Path::parse(each.path);
    if (!was || was->is_top()) return false;
    const std::string name = fs::fold(was->last());
    const std::string shown = fs::fold(session.names().shown(was->last()));
    return fs::fold(was->text()) == whole || name == last || name == meant || shown == last;
  };
  const std::string own = session.name();
  const fs::BinView* found = nullptr;
  for (const auto& each : bin) {
    if (!fits(each)) continue;
    if (each.owner == own) return &each;
    if (found == nullptr) found = &each;
  }
  return found;
}

}  // namespace

Task<void> command_restore(Call call) {
  const auto bin = call.session.bin();
  const fs::BinView* removal = find_removal(bin, call.session, call.words[0]);
  if (removal == nullptr) {
    call.terminal.say(
        fmt::format("There is no {} in the bin. Type bin to see what there is.", call.words[0]));
    co_return;
  }
  const auto restored = co_await call.session.restore(removal->id);
  if (call.refused(restored)) {
    if (restored.error().code == fs::Code::exists) {
      call.terminal.say("Rename that one, then restore again.");
    }
    co_return;
  }
  const auto path = fs::Path::parse(removal->path);
  call.terminal.say(
      fmt::format("{} is back.", path ? shown_from_here(call.session, *path) : removal->path));
}

}  // namespace stationer::server
