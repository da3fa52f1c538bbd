// The session's part of notices, and of printouts.
#include <algorithm>

#include <fmt/format.h>

#include "fs/cause.h"
#include "fs/text.h"
#include "server/session.h"

namespace stationer::server {

using fs::Code;
using fs::Error;
using fs::Status;

// ---- notices and the tray ----

Task<Status> Session::send_notice(std::string to, std::string text) {
  auto& desk = room_.volume.desk();
  auto sent = co_await room_.loop.durable(desk.send_notice(caller_, to, text));
  if (!sent) co_return sent;
  // Whoever is here hears of it now; the notice itself waits until it is read.
  const std::string who = fs::ascii_lower(to);
  const std::string words =
      fmt::format("A notice from {} has come. Type notices to read it.", name());
  if (who == "@all") {
    room_.tell_all(words, caller_.account);
  } else if (who.starts_with('@')) {
    if (auto klass = room_.volume.people().class_of(who.substr(1))) {
      room_.tell_class(*klass, words, caller_.account);
    }
  } else if (auto account = room_.volume.people().account(who)) {
    room_.tell(account->id, words);
  }
  co_return Status();
}

std::vector<fs::NoticeView> Session::notices() const {
  return room_.volume.desk().notices(caller_);
}

Task<Status> Session::drop_notices(std::vector<std::uint32_t> ids) {
  co_return co_await room_.loop.durable(room_.volume.desk().drop_notices(caller_, ids));
}

std::vector<fs::PrintoutView> Session::tray() const {
  return room_.volume.desk().printouts(caller_, false);
}

Task<Status> Session::mark_seen(std::vector<std::uint32_t> jobs) {
  co_return co_await room_.loop.durable(room_.volume.desk().mark_seen(caller_, jobs));
}

Task<fs::Result<print::Found>> Session::find_printouts(fs::PrintoutFilter filter, std::string words,
                                                       std::size_t most) {
  auto& finder = room_.finder;
  const auto later = room_.loop.blocking([&finder, caller = caller_, filter, words, most] {
    return finder.find(caller, filter, words, most);
  });
  co_return co_await later;
}

Task<fs::Result<print::Collected>> Session::bind_printouts(fs::Path file,
                                                           fs::PrintoutFilter filter) {
  const auto upload = save(file, {});
  if (!upload) co_return upload.error();
  auto& volume = room_.volume;
  const auto later = room_.loop.blocking([&volume, caller = caller_, upload = *upload, filter] {
    return print::collect_printouts(volume, caller, filter,
                                    [&](std::string_view bytes) { return upload->write(bytes); });
  });
  auto collected = co_await later;
  if (!collected) co_return collected;
  const auto saved = co_await finish(*upload);
  if (!saved) co_return saved.error();
  co_return collected;
}

// ---- printouts that nobody has claimed ----

fs::Result<std::vector<Session::Unclaimed>> Session::unclaimed() const {
  auto printouts = room_.volume.desk().unclaimed(caller_);
  if (!printouts) return printouts.error();
  std::vector<Unclaimed> out;
  for (auto& printout : *printouts) {
    std::string code = room_.spool.code_of(printout.job);
    out.push_back({std::move(printout), std::move(code)});
  }
  return out;
}

Task<fs::Result<fs::PrintoutView>> Session::claim(std::string code) {
  const auto wait = room_.claims.wait(address_, name(), room_.loop.now());
  if (wait.count() != 0) {
    co_return fs::because(
        fs::TooManyGuesses{wait}, Code::throttled,
        fmt::format("Too many wrong codes. Wait {} seconds, then try again.", wait.count()));
  }
  const auto job = room_.spool.printout_of(code);
  if (!job) {
    room_.claims.wrong(address_, name(), room_.loop.now());
    co_return Error{Code::not_found, "No printout waits under that code. Ask for it once more."};
  }
  auto claimed = co_await room_.loop.durable(room_.volume.desk().claim_printout(caller_, *job));
  if (!claimed) co_return claimed.error();
  room_.claims.right(address_, name(), room_.loop.now());
  co_return room_.volume.desk().printout(caller_, *job);
}

}  // namespace stationer::server
