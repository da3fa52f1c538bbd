#include <optional>
#include <utility>

#include <fmt/format.h>

#include "server/net/print_doors.h"
#include "server/session.h"

namespace stationer::server {
namespace {

class RawConnection : public Connection {
 public:
  RawConnection(Room& room, const RawDoorConfig& config, std::unique_ptr<Stream> stream)
      : room_(room),
        station_(config.station(stream->address())),
        stream_(std::move(stream)),
        queue_(queue_of(room, station_, stream_->address())),
        session_(room, "raw", stream_->address()) {}

  Task<void> run() override {
    // There is nothing in the protocol that could say why: the journal does.
    if (!room_.stations.admit(session_.address(), "raw")) co_return;
    session_.doing("printing");
    for (;;) {
      if (std::exchange(end_now_, false) && job_) co_await finish(false);
      std::optional<Time> until;
      if (job_) until = room_.loop.now() + station_.idle;
      auto read = co_await stream_->read(until);
      if (read.end == Stream::Read::End::none) {
        if (!co_await print(std::move(read.bytes))) co_return;
        continue;
      }
      if (read.end == Stream::Read::End::woken) continue;
      if (job_) co_await finish(read.end == Stream::Read::End::broken);
      if (read.end != Stream::Read::End::deadline) co_return;
    }
  }

 private:
  // What was said for this machine, before its profile's, before the door's.
  static const std::string& queue_of(const Room& room, const RawStation& station,
                                     const std::string& address) {
    const Profile& profile = room.stations.profile_at(address);
    return station.own_queue || profile.queue.empty() ? station.queue : profile.queue;
  }

  Task<bool> print(std::string bytes) {
    if (!job_) {
      const fs::AccountId owner = room_.person_at(session_.address());
      const auto account = room_.volume.people().account(owner);
      auto job =
          session_.start_job(queue_, {title(), owner, account ? account->name : std::string()});
      if (!job) {
        note_refusal(job.error());
        co_return false;
      }
      job_ = std::move(*job);
      OpenJob open{job_->job(), session_.address(), [this] {
                     end_now_ = true;
                     stream_->wake();
                   }};
      place_.emplace(room_.open_jobs, std::move(open));
    }
    auto written = co_await session_.write(job_, std::move(bytes));
    if (written) {
      place_->job().bytes = job_->job().bytes;
      co_return true;
    }
    // Whoever sent it can't be told here; the job's reason tells them.
    note_refusal(written.error());
    job_->refuse(written.error().message);
    place_.reset();
    static_cast<void>(co_await session_.finish(std::exchange(job_, nullptr)));
    co_return false;
  }

  Task<void> finish(bool broken_off) {
    place_.reset();
    if (broken_off) {
      const fs::AccountId owner = room_.person_at(session_.address());
      const auto account = room_.volume.people().account(owner);
      job_->describe(title() + " (broken off)", owner, account ? account->name : std::string());
    }
    auto number = co_await session_.finish(std::exchange(job_, nullptr));
    if (!number) note_refusal(number.error());
  }

  std::string title() const { return fmt::format("From {}", session_.address()); }

  void note_refusal(const fs::Error& error) {
    static_cast<void>(
        room_.volume.desk().note(session_.caller(), "print job refused", queue_, error.message));
  }

  Room& room_;
  const RawStation& station_;
  std::unique_ptr<Stream> stream_;
  const std::string queue_;
  Session session_;
  std::shared_ptr<print::Incoming> job_;
  std::optional<OpenJobs::Place> place_;  // as long as there is a job
  bool end_now_ = false;                  // somebody asked for the job's end
};

}  // namespace

std::unique_ptr<Connection> make_raw_connection(Room& room, const RawDoorConfig& config,
                                                std::unique_ptr<Stream> stream) {
  return std::make_unique<RawConnection>(room, config, std::move(stream));
}

}  // namespace stationer::server
