#include <algorithm>
#include <utility>
#include <vector>

#include <fmt/format.h>
#include <spdlog/spdlog.h>

#include "fs/text.h"
#include "server/net/discard.h"
#include "server/net/print_doors.h"
#include "server/protocol/lpd.h"
#include "server/session.h"

namespace stationer::server {
namespace {

constexpr std::chrono::seconds linger{2};
constexpr std::string_view page_languages = "ocdgntv";  // RFC 1179 §7.18 to §7.29: not text

class LpdConnection : public Connection {
 public:
  using Incoming = std::shared_ptr<print::Incoming>;

  LpdConnection(Room& room, const LpdDoorConfig& config, std::unique_ptr<Stream> stream)
      : room_(room),
        config_(config),
        stream_(std::move(stream)),
        session_(room, "lpd", stream_->address()),
        admitted_(room.stations.admit(stream_->address(), "lpd")),
        lpd_(room.loop.now()) {}

  Task<void> run() override {
    session_.doing("printing");
    while (open_) {
      auto read = co_await stream_->read(lpd_.deadline());
      switch (read.end) {
        case Stream::Read::End::none: {
          std::string_view rest = read.bytes;
          while (open_ && !rest.empty()) {
            const Lpd::Step step = lpd_.feed(rest, room_.loop.now());
            rest.remove_prefix(step.used);
            co_await act_on(step);
          }
          break;
        }
        case Stream::Read::End::orderly:
          co_await act_on(lpd_.end_of_input(room_.loop.now()));
          // What is left to wait for is told by deadlines alone.
          while (open_ && lpd_.deadline()) {
            co_await stream_->pause(*lpd_.deadline());
            co_await act_on(lpd_.tick(room_.loop.now()));
          }
          open_ = false;
          break;
        case Stream::Read::End::broken: co_await act_on(lpd_.lost()); co_return;
        case Stream::Read::End::deadline:
        case Stream::Read::End::woken: co_await act_on(lpd_.tick(room_.loop.now())); break;
      }
    }
    stream_->end_output();
    co_await discard_input(*stream_, room_.loop.now() + linger);
  }

 private:
  // Sends, does what is asked for, and goes on with the step that the answer brings.
  Task<void> act_on(Lpd::Step step) {
    for (;;) {
      if (!step.send.empty()) {
        const bool sent = co_await stream_->write(std::move(step.send));
        if (!sent) step = lpd_.lost();
        if (!sent) open_ = false;
      }
      if (step.close) open_ = false;
      if (!step.request) co_return;
      auto request = std::move(*step.request);
      auto answered = std::visit([this](auto& each) { return answer(each); }, request);
      step = co_await std::move(answered);
    }
  }

  Lpd::Step answer_to(const fs::Status& status) {
    if (status) return lpd_.accept(room_.loop.now());
    note_refusal(status.error());
    files_.clear();
    return lpd_.refuse(status.error());
  }

  void note_refusal(const fs::Error& error) {
    static_cast<void>(
        room_.volume.desk().note(session_.caller(), "print job refused", queue_, error.message));
  }

  Task<Lpd::Step> answer(Lpd::ReceiveJob& request) {
    if (!admitted_) co_return lpd_.refuse(admitted_.error());
    queue_ = request.queue;
    files_.clear();
    if (room_.spool.queues().find(queue_) == nullptr) {
      co_return answer_to(
          fs::Error{fs::Code::not_found,
                    fmt::format("There is no print queue \"{}\".", fs::clip(queue_, 40))});
    }
    co_return lpd_.accept(room_.loop.now());
  }

  Task<Lpd::Step> answer(Lpd::OpenFile& request) {
    if (request.size && *request.size > print::Spool::largest_job) {
      co_return answer_to(fs::Error{
          fs::Code::over_quota, fmt::format("The job is larger than the {} MiB that are allowed.",
                                            print::Spool::largest_job >> 20)});
    }
    auto job = session_.start_job(queue_, {});
    if (!job) co_return answer_to(job.error());
    files_.push_back(std::move(*job));
    failed_ = fs::Status();
    co_return lpd_.accept(room_.loop.now());
  }

  Task<Lpd::Step> answer(Lpd::Piece& piece) {
    // A failure is told when the file is complete; a client that streams hears nothing before.
    if (failed_) failed_ = co_await session_.write(files_.back(), std::string(piece.octets));
    co_return Lpd::Step();
  }

  Task<Lpd::Step> answer(Lpd::CloseFile&) { co_return answer_to(failed_); }

  Task<Lpd::Step> answer(Lpd::DropFile&) {
    if (!files_.empty()) files_.pop_back();
    co_return Lpd::Step();
  }

  Task<Lpd::Step> answer(Lpd::JobReady& ready) {
    const auto files = std::exchange(files_, {});
    std::vector<std::uint32_t> taken;
    std::vector<bool> printed(files.size());
    for (std::size_t i = 0; i < ready.files.size(); ++i) {
      const std::size_t file = ready.files[i];
      if (file >= files.size() || printed[file]) continue;
      printed[file] = true;
      describe(*files[file], ready.control, ready.control.files[i]);
      auto number = co_await session_.finish(files[file]);
      if (!number) {
        // The client will send all of it again.
        for (const auto earlier : taken) {
          static_cast<void>(room_.spool.cancel(fs::keeper_at_the_box(), earlier));
        }
        co_return answer_to(number.error());
      }
      taken.push_back(*number);
    }
    co_return lpd_.accept(room_.loop.now());
  }

  Task<Lpd::Step> answer(Lpd::Dropped& dropped) {
    if (!files_.empty()) note_refusal({fs::Code::io, dropped.reason});
    files_.clear();
    co_return Lpd::Step();
  }

  Task<Lpd::Step> answer(Lpd::ListQueue& request) {
    if (!admitted_) co_return lpd_.answer(admitted_.error().message + "\n");
    const print::Queue* queue = room_.spool.queues().find(request.queue);
    if (queue == nullptr) {
      co_return lpd_.answer(
          fmt::format("There is no print queue \"{}\".\n", fs::clip(request.queue, 40)));
    }
    std::string text;
    std::size_t shown = 0;
    for (const auto& view : room_.spool.jobs_as_seen(session_.caller(), queue->name)) {
      if (!is_selected(request.selection, view.job)) continue;
      ++shown;
      text += fmt::format("{:>6}  {:<16}  {:<9}  {:>9} bytes\n", view.job.number,
                          view.job.owner_name.empty() ? "-" : view.job.owner_name,
                          print::state_name(view.state), view.job.bytes);
      if (request.detailed) text += fmt::format("        from {}\n", view.job.source);
    }
    if (shown == 0) text = "No jobs.\n";
    co_return lpd_.answer(fmt::format("{}: {}\n{}", queue->name, queue->title, text));
  }

  Task<Lpd::Step> answer(Lpd::RemoveJobs& request) {
    if (!admitted_) co_return lpd_.answer(admitted_.error().message + "\n");
    // Nobody proves here who they are, so only what the same machine sent under the same name goes.
    std::string text;
    for (const auto& view : room_.spool.jobs()) {
      if (view.job.source != session_.source() || view.job.owner_name.empty() ||
          !same_name(view.job.owner_name, request.agent)) {
        continue;
      }
      const bool current = request.selection.users.empty() && request.selection.jobs.empty();
      if (!current && !is_selected(request.selection, view.job)) continue;
      auto& spool = room_.spool;
      const auto later = room_.loop.blocking([&spool, number = view.job.number] {
        return spool.cancel(fs::keeper_at_the_box(), number);
      });
      const auto gone = co_await later;
      text += gone ? fmt::format("Job {} is cancelled.\n", view.job.number)
                   : gone.error().message + "\n";
      if (current) break;
    }
    co_return lpd_.answer(text.empty() ? "There is no job of yours to cancel.\n" : text);
  }

  Task<Lpd::Step> answer(Lpd::StartPrinting& request) {
    // Printing never stops, so there is nothing to start.
    const bool there = room_.spool.queues().find(request.queue) != nullptr;
    co_return there ? lpd_.accept(room_.loop.now())
                    : lpd_.refuse({fs::Code::not_found, "There is no such print queue."});
  }

  static bool same_name(std::string_view a, std::string_view b) {
    return fs::ascii_lower(a) == fs::ascii_lower(b);
  }

  static bool is_selected(const Lpd::Selection& selection, const print::Job& job) {
    if (selection.users.empty() && selection.jobs.empty()) return true;
    const auto& users = selection.users;
    const auto& jobs = selection.jobs;
    return std::any_of(users.begin(), users.end(),
                       [&](const auto& each) { return same_name(each, job.owner_name); }) ||
           std::find(jobs.begin(), jobs.end(), fmt::format("{}", job.number)) != jobs.end();
  }

  // The account that the sender names, if names are believed here; else whoever is signed in at the
  // same machine.
  void describe(print::Incoming& job, const LpdControl& control, const LpdListing& listing) {
    fs::AccountId owner = fs::no_account;
    std::string owner_name = control.user;
    auto& people = room_.volume.people();
    if (config_.believe_names) {
      if (auto account = people.account(control.user); account && people.may_stay(account->id)) {
        owner = account->id;
        owner_name = account->name;
      }
    }
    if (owner == fs::no_account) {
      owner = room_.person_at(session_.address());
      if (auto account = people.account(owner)) owner_name = account->name;
    }
    std::string title = title_of(control, listing);
    if (title.empty()) title = fmt::format("From {}", session_.address());
    job.describe(std::move(title), owner, std::move(owner_name));
    if (page_languages.find(listing.format) != std::string_view::npos) {
      job.refuse(
          fmt::format("The job is in a page language (LPD format {}), and this queue prints "
                      "plain text. Choose a text-only printer on the machine that sent it.",
                      listing.format));
    }
  }

  Room& room_;
  const LpdDoorConfig& config_;
  std::unique_ptr<Stream> stream_;
  Session session_;
  const fs::Status admitted_;
  Lpd lpd_;
  std::string queue_;
  std::vector<Incoming> files_;  // of the job that is coming in
  fs::Status failed_;            // of the file that is coming in
  bool open_ = true;
};

}  // namespace

std::unique_ptr<Connection> make_lpd_connection(Room& room, const LpdDoorConfig& config,
                                                std::unique_ptr<Stream> stream) {
  return std::make_unique<LpdConnection>(room, config, std::move(stream));
}

}  // namespace stationer::server
