// choose: a folder, the bin or the print jobs as a list that fills the screen.
#include <algorithm>
#include <charconv>

#include <fmt/format.h>

#include "fs/text.h"
#include "server/terminal/choosing.h"
#include "server/terminal/command.h"
#include "server/terminal/job_words.h"
#include "server/terminal/shown.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

using Run = Task<void> (*)(Call call);

// The longest of the texts that fits, or the last.
std::string fitting(std::initializer_list<std::string_view> texts, int columns) {
  for (const std::string_view each : texts) {
    if (static_cast<int>(each.size()) < columns) return std::string(each);
  }
  return std::string(*(texts.end() - 1));
}

// A command as if it had been typed with that word; then its answer can be read.
Task<void> act(Call& call, Run run, std::string word) {
  Call typed{call.session, call.terminal, {word}, word};
  co_await run(std::move(typed));
  static_cast<void>(co_await call.terminal.ask("Enter goes on: "));
}

Task<void> remove_if_sure(Call& call, const std::string& name, std::string path) {
  const bool sure = co_await call.terminal.confirm(fmt::format("Remove {}?", name));
  if (sure) co_await act(call, command_remove, std::move(path));
}

Task<void> choose_in_folder(Call& call, ScreenSize size, fs::Path folder) {
  std::size_t at = 0;
  std::string came_from;  // the folder below, to stand on it again
  for (;;) {
    const auto views = call.session.list(folder);
    if (call.refused(views)) co_return;
    Chooser::List list;
    list.title = shown_path(call.session, folder);
    list.actions = "fipr";
    list.keys = fitting({"+ - or arrows, Enter opens  f fetch  i info  p print  r remove  q leaves",
                         "Enter fetch info print remove quit", "Enter f i p r q"},
                        size.columns);
    const std::size_t above = folder.is_top() ? 0 : 1;
    if (above > 0) list.rows.push_back({"..", ""});
    for (const auto& view : *views) {
      if (!came_from.empty() && view.name == came_from) at = list.rows.size();
      const std::string date = size.columns >= 60 ? "  " + short_date(view.modified) : "";
      list.rows.push_back({call.session.shown(view) + (view.folder ? "/" : ""),
                           (view.folder ? "" : short_size(view.size)) + date});
    }
    came_from.clear();
    const auto choice = co_await choose(call.terminal, size, std::move(list), at);
    if (choice.action == Chooser::Choice::leave) break;
    at = choice.row;
    if (choice.row < above) {
      if (choice.action != Chooser::Choice::enter) continue;
      came_from = folder.last();
      folder = folder.parent();
      continue;
    }
    const fs::NodeView& chosen = (*views)[choice.row - above];
    const std::string name = call.session.shown(chosen);
    const std::string path = shown_path(call.session, folder / chosen.name);
    switch (choice.action) {
      case 'f': co_await act(call, command_fetch, path); break;
      case 'i': co_await act(call, command_info, path); break;
      case 'p': co_await act(call, command_print, path); break;
      case 'r': co_await remove_if_sure(call, name, path); break;
      default:
        if (chosen.folder) {
          folder = folder / chosen.name;
          at = 0;
        } else {
          co_await act(call, command_show, path);
        }
    }
  }
  static_cast<void>(call.session.go(folder));
}

Task<void> choose_in_bin(Call& call, ScreenSize size) {
  for (std::size_t at = 0;;) {
    const auto bin = call.session.bin();
    Chooser::List list;
    list.title = "What was removed";
    list.keys =
        fitting({"+ - or arrows, Enter brings it back  q leaves", "Enter: back   q"}, size.columns);
    for (const auto& each : bin) {
      const auto path = fs::Path::parse(each.path);
      const std::string name = path ? shown_removed_from_here(call.session, *path) : each.path;
      list.rows.push_back({name + (each.folder ? "/" : ""), short_date(each.removed)});
    }
    const auto choice = co_await choose(call.terminal, size, std::move(list), at);
    if (choice.action == Chooser::Choice::leave) co_return;
    at = choice.row;
    const auto restored = co_await call.session.restore(bin[choice.row].id);
    if (call.refused(restored)) static_cast<void>(co_await call.terminal.ask("Enter goes on: "));
  }
}

Task<void> choose_in_jobs(Call& call, ScreenSize size) {
  for (std::size_t at = 0;;) {
    const auto jobs = call.session.jobs(false);
    Chooser::List list;
    list.title = "Print jobs";
    list.actions = "chr";
    list.keys = fitting({"+ - or arrows  c takes it back  h holds  r releases  q leaves",
                         "cancel hold release quit", "c h r q"},
                        size.columns);
    for (const auto& view : jobs) {
      list.rows.push_back(
          {fmt::format("{} {}", view.job.number, view.job.title), state_in_words(view)});
    }
    const auto choice = co_await choose(call.terminal, size, std::move(list), at);
    if (choice.action == Chooser::Choice::leave) co_return;
    at = choice.row;
    const std::string number = fmt::format("{}", jobs[choice.row].job.number);
    switch (choice.action) {
      case 'c': co_await act(call, command_cancel, number); break;
      case 'h': co_await act(call, command_hold, number); break;
      case 'r': co_await act(call, command_release, number); break;
      default: break;
    }
  }
}

}  // namespace

Task<void> command_choose(Call call) {
  const std::string what = call.words.empty() ? "" : fs::ascii_lower(call.words[0]);
  const auto folder = call.session.path(call.words.empty() ? "." : call.words[0]);
  const bool named = what == "bin" || what == "jobs";
  if (!named) {
    if (call.refused(folder)) co_return;
    const auto views = call.session.list(*folder);
    if (call.refused(views)) co_return;
  } else if (!call.session.signed_in()) {
    call.terminal.say("Guests have neither. Type bye, then sign in with your name.");
    co_return;
  }
  const auto size = co_await screen_size(call.session, call.terminal);
  if (!size) {
    call.terminal.say(
        "This screen does not say where its cursor is, so no list can be drawn on it. list shows "
        "the same.");
    co_return;
  }
  if (what == "bin") {
    co_await choose_in_bin(call, *size);
  } else if (what == "jobs") {
    co_await choose_in_jobs(call, *size);
  } else {
    co_await choose_in_folder(call, *size, *folder);
  }
}

}  // namespace stationer::server
