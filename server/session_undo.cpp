// The session's part of taking back what was done last.
#include <fmt/format.h>

#include "server/session.h"

namespace stationer::server {

using fs::Code;
using fs::Error;
using fs::Status;

fs::ContentId Session::newest_version(const fs::Path& file) const {
  const auto all = versions(file);
  return all && !all->empty() ? all->front().id : fs::ContentId{};
}

// Where the caller may not look, as into a hand-in folder, nothing can be taken back.
void Session::note_saved(const fs::Path& file, bool was_there, fs::ContentId newest_before) {
  last_act_.reset();
  const auto view = look(file);
  if (!view) return;
  LastAct act{LastAct::What::made, view->id, file, {}, {}, view->modified};
  if (was_there) {
    act.what = LastAct::What::replaced;
    act.former = newest_version(file);
    if (act.former == newest_before) return;  // nothing is kept of what it was
  }
  last_act_ = std::move(act);
}

Status Session::still_as_left(const LastAct& act) const {
  if (act.what == LastAct::What::removed) return {};  // the bin has it, or says that it hasn't
  const auto view = look(act.path);
  const bool moved = act.what == LastAct::What::moved;
  if (view && view->id == act.node && (moved || view->modified == act.modified)) return {};
  return Error{Code::not_found, fmt::format("{} is not as you left it any more, so it stays.",
                                            shown(act.path).text())};
}

Task<fs::Result<LastAct>> Session::undo() {
  if (!last_act_) {
    co_return Error{Code::not_found,
                    "There is nothing to take back: only what you did last in this visit can be."};
  }
  const LastAct act = *last_act_;
  auto done = still_as_left(act);
  if (done) {
    switch (act.what) {
      case LastAct::What::made: done = co_await remove(act.path); break;
      case LastAct::What::replaced: done = co_await restore_version(act.path, act.former); break;
      case LastAct::What::removed: done = co_await restore(act.node); break;
      case LastAct::What::moved: done = co_await move(act.path, act.before); break;
    }
  }
  if (!done) co_return done.error();
  last_act_.reset();
  co_return act;
}

}  // namespace stationer::server
