// restore: brings the last removal of that name back to where it was, or with a number a former
// content of a file that is there.
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

Task<void> restore_version(Call& call) {
  const auto path = call.session.path(call.words[0]);
  if (call.refused(path)) co_return;
  const auto versions = call.session.versions(*path);
  if (call.refused(versions)) co_return;
  const auto number = fs::whole_number(call.words[1]);
  if (!number || *number == 0 || *number > versions->size()) {
    call.terminal.say(versions->empty()
                          ? "It has no versions to restore."
                          : fmt::format("Type a number from 1 to {}, as versions {} shows them.",
                                        versions->size(), as_typed(call.words[0])));
    co_return;
  }
  const fs::VersionView version = (*versions)[*number - 1];
  const auto restored = co_await call.session.restore_version(*path, version.id);
  if (call.refused(restored)) co_return;
  call.terminal.say(fmt::format("{} is again as it was at {}; version 1 is what it was until now.",
                                shown_from_here(call.session, *path), short_date(version.saved)));
}

}  // namespace

Task<void> command_restore(Call call) {
  if (call.words.size() == 2) {
    co_await restore_version(call);
    co_return;
  }
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
    } else if (restored.error().code == fs::Code::not_found) {
      call.terminal.say("It was in there. Restore that first, or make it again.");
    }
    co_return;
  }
  const auto path = fs::Path::parse(removal->path);
  call.terminal.say(
      fmt::format("{} is back.", path ? shown_from_here(call.session, *path) : removal->path));
}

}  // namespace stationer::server
