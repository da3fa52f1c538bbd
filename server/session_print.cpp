// The session's part of printing.
#include <algorithm>

#include <fmt/format.h>

#include "fs/account.h"
#include "server/session.h"

namespace stationer::server {

using fs::Code;
using fs::Error;
using fs::Status;

namespace {

constexpr std::size_t longest_reason = 200;  // characters

Status check_reason(std::string_view reason) {
  return fs::check_line(reason, longest_reason, "The reason");
}

}  // namespace

fs::Result<std::shared_ptr<print::Incoming>> Session::start_job(std::string_view queue,
                                                                PrintTarget target) {
  if (auto allowed = minded("print", std::string(queue), may_work(target.owner)); !allowed) {
    return allowed.error();
  }
  auto job = minded("print", std::string(queue),
                    room_.spool.receive(queue, std::move(target.title), target.owner,
                                        std::move(target.owner_name), source()));
  if (!job) return job.error();
  return std::make_shared<print::Incoming>(std::move(*job));
}

Task<Status> Session::write(std::shared_ptr<print::Incoming> job, std::string bytes) {
  const auto later =
      room_.loop.blocking([job, bytes = std::move(bytes)] { return job->write(bytes); });
  auto written = co_await later;
  co_return minded("print", job->job().queue, std::move(written));
}

Task<fs::Result<std::uint32_t>> Session::finish(std::shared_ptr<print::Incoming> job) {
  const std::string queue = job->job().queue;
  const auto later = room_.loop.blocking([job] { return job->finish(); });
  auto number = co_await later;
  co_return minded("print", queue, std::move(number));
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
  co_return handed_in(*number, queues().find(queue)->name);
}

Session::HandedIn Session::handed_in(std::uint32_t job, std::string queue) const {
  HandedIn out{job, std::move(queue), print::JobState::waiting, ""};
  if (const auto view = room_.spool.job(job)) {
    out.queue = view->job.queue;
    out.state = view->state;
    out.reason = view->job.reason;
  }
  return out;
}

std::vector<print::JobView> Session::jobs(bool all) const {
  auto views = room_.spool.jobs_as_seen(caller_);
  for (const OpenJob& open : room_.open_jobs.all()) {
    views.push_back({open.job, print::JobState::receiving});
    if (!room_.spool.may_know(caller_, open.job)) views.back().job.title.clear();
  }
  if (all) return views;
  std::erase_if(views, [&](const auto& view) { return !room_.spool.may_know(caller_, view.job); });
  return views;
}

// An act of the spool's, which may wait for the disk.
Task<Status> Session::handle(SpoolAct act) {
  auto& spool = room_.spool;
  const auto later = room_.loop.blocking(
      [&spool, caller = caller_, act = std::move(act)] { return act(spool, caller); });
  auto done = co_await later;
  co_return minded("handle a print job", "", std::move(done));
}

Task<Status> Session::release(std::uint32_t job) {
  return handle(
      [job](print::Spool& spool, const fs::Caller& caller) { return spool.release(caller, job); });
}

Task<Status> Session::cancel(std::uint32_t job) {
  return handle(
      [job](print::Spool& spool, const fs::Caller& caller) { return spool.cancel(caller, job); });
}

Task<Status> Session::hold(std::uint32_t job, std::string reason) {
  return handle([job, reason](print::Spool& spool, const fs::Caller& caller) {
    const auto fine = check_reason(reason);
    return fine ? spool.hold(caller, job, reason) : fine;
  });
}

Task<Status> Session::refuse(std::uint32_t job, std::string reason) {
  return handle([job, reason](print::Spool& spool, const fs::Caller& caller) {
    const auto fine = check_reason(reason);
    return fine ? spool.refuse(caller, job, reason) : fine;
  });
}

Task<fs::Result<Session::HandedIn>> Session::send_to(std::uint32_t job, std::string queue) {
  SpoolAct send = [job, queue](print::Spool& spool, const fs::Caller& caller) {
    return spool.send_to(caller, job, queue);
  };
  auto sent = co_await handle(std::move(send));
  if (!sent) co_return sent.error();
  co_return handed_in(job, queue);
}

Task<fs::Result<Session::HandedIn>> Session::print_again(std::uint32_t job, std::string queue) {
  auto& spool = room_.spool;
  const auto later = room_.loop.blocking(
      [&spool, caller = caller_, job, queue] { return spool.print_again(caller, job, queue); });
  auto number = co_await later;
  if (!number) co_return number.error();
  co_return handed_in(*number, queue);
}

fs::Result<std::uint32_t> Session::end_job(std::uint32_t job) {
  const auto mine = [&](const OpenJob& open) {
    return room_.spool.may_know(caller_, open.job) || open.address == address_;
  };
  std::vector<const OpenJob*> fitting;
  for (const OpenJob& open : room_.open_jobs.all()) {
    if ((job == 0 || open.job.number == job) && mine(open)) fitting.push_back(&open);
  }
  if (fitting.empty()) {
    return Error{Code::not_found, job == 0
                                      ? "No print job of yours is coming in."
                                      : fmt::format("No print job {} of yours is coming in.", job)};
  }
  if (fitting.size() > 1) {
    return Error{Code::bad_input, "Several jobs are coming in. Say which: jobs shows the numbers."};
  }
  const std::uint32_t number = fitting.front()->job.number;
  fitting.front()->end();
  return number;
}

std::optional<print::Allowance> Session::allowance(const print::Queue& queue) const {
  return room_.spool.allowance(caller_.account, queue);
}

}  // namespace stationer::server
