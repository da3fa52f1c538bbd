// handout: copies of files to each of those who are here.
#include <fmt/format.h>

#include "server/terminal/command.h"
#include "server/terminal/hand_in_words.h"

namespace stationer::server {
namespace {

constexpr std::size_t most_files = 50;

// What a word names: a file, or the files of a folder.
fs::Result<std::vector<fs::Path>> files_of(const Session& session, const std::string& word) {
  const auto path = session.path(word);
  if (!path) return path.error();
  const auto view = session.look(*path);
  if (!view || !view->folder) return std::vector<fs::Path>{*path};  // it may be put in, not seen
  const auto nodes = session.list(*path);
  if (!nodes) return nodes.error();
  std::vector<fs::Path> out;
  for (const auto& node : *nodes) {
    if (!node.folder) out.push_back(*path / node.name);
  }
  if (out.empty()) {
    return fs::Error{fs::Code::not_found, fmt::format("There is no file in {}.", path->text())};
  }
  return out;
}

// The last word tells to whom, unless it names something that is here.
bool is_recipient(const Session& session, const std::string& word) {
  if (word.starts_with('+')) return true;
  const auto path = session.path(word);
  return !path || !session.look(*path);
}

}  // namespace

Task<void> command_handout(Call call) {
  std::string to = "+all";
  if (call.words.size() > 1 && is_recipient(call.session, call.words.back())) {
    to = call.words.back();
    call.words.pop_back();
  }
  std::vector<fs::Path> files;
  for (const auto& word : call.words) {
    const auto some = files_of(call.session, word);
    if (call.refused(some)) co_return;
    files.insert(files.end(), some->begin(), some->end());
  }
  if (files.size() > most_files) {
    call.terminal.say(fmt::format("Those are {} files; at most {} are handed out at once.",
                                  files.size(), most_files));
    co_return;
  }
  const auto out = co_await call.session.hand_out(files, to);
  static_cast<void>(call.refused(out.ended));
  if (!out.carried.empty()) co_await call.terminal.show(carried_lines(out.carried));
}

}  // namespace stationer::server
