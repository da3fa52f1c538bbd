// write: takes a text line by line until a full stop alone. The text stays in memory until it is
// saved, so that a refusal at the end loses nothing; what a broken line cuts off is rescued.
#include <fmt/format.h>

#include "fs/content.h"
#include "server/terminal/command.h"
#include "server/terminal/shown.h"
#include "server/terminal/wording.h"

namespace stationer::server {
namespace {

// A text that never leaves memory. Larger ones are for file transfer.
constexpr std::size_t longest_text = fs::small_content;

// What is being typed in. Let go before it was saved or thrown away, it is rescued.
struct Draft {
  Draft(Session& session_, fs::Path path_) : session(session_), path(std::move(path_)) {}
  Draft(const Draft&) = delete;
  Draft& operator=(const Draft&) = delete;
  ~Draft() {
    if (!text.empty()) session.rescue(path, text);
  }

  void end_line() {
    if (std::exchange(line_open, false)) text += '\n';
  }

  Session& session;
  fs::Path path;
  std::string text;
  std::uint64_t lines = 0;
  bool line_open = false;
};

fs::SaveOptions as_text(bool replace) {
  fs::SaveOptions options;
  options.replace = replace;
  options.kind = fs::Kind::text;
  return options;
}

Task<fs::Status> save(Session& session, const fs::Path& path, const std::string& text,
                      bool replace) {
  auto upload = session.save(path, as_text(replace));
  if (!upload) co_return upload.error();
  auto written = co_await session.write(*upload, text);
  if (!written) co_return written;
  co_return co_await session.finish(*upload);
}

// Finds out before anything is typed whether it could be saved: one byte of it at least.
Task<fs::Status> may_save(Session& session, const fs::Path& path, bool replace) {
  auto trial = session.save(path, as_text(replace));
  if (!trial) co_return trial.error();
  co_return co_await session.write(*trial, "\n");
}

bool is_stops(const std::string& line) {
  return !line.empty() && line.find_first_not_of('.') == std::string::npos;
}

// Takes lines until the end of the text; false when the member throws it away.
Task<bool> take_lines(Call& call, Draft& draft, Session::UploadPtr measure) {
  std::uint64_t left_out = 0;
  bool goes_on = false;  // the line last heard was a part of a long one
  for (;;) {
    auto line = co_await call.terminal.ask_text_line(goes_on);
    goes_on = line && line->continues;
    if (!line) {
      const bool sure =
          draft.text.empty() || co_await call.terminal.confirm("Throw away what you typed?");
      if (sure) co_return false;
      draft.end_line();
      call.terminal.say("Go on with your text.");
      continue;
    }
    if (!draft.line_open && !line->continues && is_stops(line->text)) {
      if (line->text.size() == 1) break;
      line->text.pop_back();  // one more stop than meant, so that a stop alone can be said
    }
    if (left_out > 0) {
      if (!line->continues) ++left_out;
      continue;
    }
    const std::string bytes = line->text + (line->continues ? "" : "\n");
    fs::Status taken;
    if (draft.text.size() + bytes.size() > longest_text) {
      taken = fs::Error{fs::Code::over_quota, fmt::format("A text typed in can have {} at most.",
                                                          short_size(longest_text))};
    } else {
      taken = co_await call.session.write(measure, bytes);
    }
    if (call.refused(taken)) {
      call.terminal.say(
          "This line and what follows is left out. A full stop alone saves what came before.");
      left_out = 1;
      continue;
    }
    draft.text += bytes;
    draft.line_open = line->continues;
    if (!draft.line_open) ++draft.lines;
  }
  if (left_out > 0) call.terminal.say(fmt::format("{} left out.", counted(left_out, "line")));
  co_return true;
}

// Saves the draft, under another name as long as that does not work; false when the member throws
// it away.
Task<bool> save_somewhere(Call& call, Draft& draft, bool replace) {
  auto saved = co_await save(call.session, draft.path, draft.text, replace);
  while (call.refused(saved)) {
    if (saved.error().code == fs::Code::busy) {
      const auto again = co_await call.terminal.ask("Your text is not lost. Enter tries again: ");
      if (again) {
        saved = co_await save(call.session, draft.path, draft.text, replace);
        continue;
      }
    }
    call.terminal.say("Your text is not lost: save it under another name.");
    const auto name = co_await call.terminal.ask("Name: ");
    if (!name || name->empty()) {
      const bool sure = co_await call.terminal.confirm("Throw the text away?");
      if (sure) co_return false;
      continue;
    }
    const auto words = split_words(*name);
    auto path = words && words->size() == 1
                    ? call.session.path(words->front())
                    : fs::Result<fs::Path>(fs::Error{
                          fs::Code::bad_name, "One name, please: in quotes if it has spaces."});
    if (path) {
      draft.path = *path;
      saved = co_await save(call.session, draft.path, draft.text, false);
    } else {
      saved = path.error();
    }
  }
  co_return true;
}

}  // namespace

Task<void> command_write(Call call) {
  const auto path = call.session.path(call.words[0]);
  if (call.refused(path)) co_return;
  const auto there = call.session.look(*path);
  const bool replace = there && !there->folder;
  const auto allowed = co_await may_save(call.session, *path, replace);
  if (call.refused(allowed)) co_return;
  if (replace) {
    const bool sure = co_await call.terminal.confirm(
        fmt::format("{} is there already. Replace it?", call.session.shown(*there)));
    if (!sure) {
      call.terminal.say("It stays as it is.");
      co_return;
    }
  }
  auto measure = call.session.save(*path, as_text(replace));
  if (call.refused(measure)) co_return;
  call.terminal.say("Type your text. A full stop alone on a line ends it.");
  Draft draft(call.session, *path);
  bool keep = co_await take_lines(call, draft, *measure);
  if (keep && draft.text.empty()) {
    call.terminal.say("Nothing was typed, so nothing is saved.");
    co_return;
  }
  if (keep) keep = co_await save_somewhere(call, draft, replace);
  draft.text.clear();
  call.terminal.say(keep ? fmt::format("{} saved in {}.", counted(draft.lines, "line"),
                                       shown_from_here(call.session, draft.path))
                         : "It is thrown away.");
}

}  // namespace stationer::server
