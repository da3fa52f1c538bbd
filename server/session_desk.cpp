// The session's part of printing, of notices and of the tray.
#include <algorithm>

#include <fmt/format.h>

#include "fs/text.h"
#include "server/session.h"

namespace stationer::server {

using fs::Code;
using fs::Error;
using fs::Status;

// ---- printing ----

fs::Result<std::shared_ptr<print::Incoming>> Session::start_job(std::string_view queue,
                                                                PrintTarget target) {
  auto job = room_.spool.receive(queue, std::move(target.title), target.owner,
                                 std::move(target.owner_name), source());
  if (!job) return job.error();
  return std::make_shared<print::Incoming>(std::move(*job));
}

Task<Status> Session::write(std::shared_ptr<print::Incoming> job, std::string bytes) {
  const auto later =
      room_.loop.blocking([job, bytes = std::move(bytes)] { return job->write(bytes); });
  co_return co_await later;
}

Task<fs::Result<std::uint32_t>> Session::finish(std::shared_ptr<print::Incoming> job) {
  const auto later = room_.loop.blocking([job] { return job->finish(); });
  co_return co_await later;
}

Task<fs::Result<Session::HandedIn>> Session::print(fs::Path file, std::string queue) {
  auto content = open(file);
  if (!content) co_return content.error();
  auto job = start_job(queue, {file.last(), caller_.account, signed_in() ? name() : ""});
  if (!job) co_return job.error();
  bool cr_alone = false;
  for (std::uint64_t offset = 0;;) {
    auto piece = co_await read(*content, offset, piece_size);
    if (!piece) co_return piece.error();
    if (piece->empty()) break;
    if (offset == 0) {
      cr_alone = piece->find('\r') != std::string::npos && piece->find('\n') == std::string::npos;
    }
    offset += piece->size();
    if (cr_alone) std::replace(piece->begin(), piece->end(), '\r', '\n');
    auto written = co_await write(*job, std::move(*piece));
    if (!written) co_return written.error();
  }
  auto number = co_await finish(*job);
  if (!number) co_return number.error();
  HandedIn handed_in{*number, queues().find(queue)->name, print::JobState::waiting, ""};
  if (const auto view = room_.spool.job(*number)) {
    handed_in.state = view->state;
    handed_in.reason = view->job.reason;
  }
  co_return handed_in;
}

// ---- people ----

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
      for (const auto* names : {&klass->members, &klass->leaders}) {
        for (const auto& each : *names) {
          const auto account = room_.volume.people().account(each);
          if (account && account->id != caller_.account) room_.tell(account->id, words);
        }
      }
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

std::vector<print::JobView> Session::jobs() const {
  auto all = room_.spool.jobs();
  std::erase_if(all, [&](const print::JobView& view) {
    const bool own = signed_in() && view.job.owner == caller_.account;
    return !own && !room_.volume.people().looks_after(caller_, view.job.owner);
  });
  return all;
}

Task<Status> Session::release(std::uint32_t job) {
  auto& spool = room_.spool;
  const auto later =
      room_.loop.blocking([&spool, caller = caller_, job] { return spool.release(caller, job); });
  co_return co_await later;
}

Task<Status> Session::cancel(std::uint32_t job) {
  auto& spool = room_.spool;
  const auto later =
      room_.loop.blocking([&spool, caller = caller_, job] { return spool.cancel(caller, job); });
  co_return co_await later;
}

}  // namespace stationer::server
