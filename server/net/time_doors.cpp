#include "server/net/time_doors.h"

#include <utility>

#include "fs/local_time.h"
#include "server/net/addresses.h"
#include "server/net/connection.h"
#include "server/net/discard.h"
#include "server/net/stream.h"
#include "server/protocol/time_of_day.h"

namespace stationer::server {
namespace {

constexpr std::chrono::seconds linger{2};
constexpr int most_tries = 10;

// Says it and closes; what comes in is thrown away (RFC 867, RFC 868).
class TimeConnection : public Connection {
 public:
  TimeConnection(Room& room, std::string name, const TimeDoors::Say& say,
                 std::unique_ptr<Stream> stream)
      : room_(room), name_(std::move(name)), say_(say), stream_(std::move(stream)) {}

  Task<void> run() override {
    if (!room_.stations.admit(stream_->address(), name_)) co_return;
    const bool said = co_await stream_->write(say_());
    if (!said) co_return;
    stream_->end_output();
    co_await discard_input(*stream_, room_.loop.now() + linger);
  }

 private:
  Room& room_;
  const std::string name_;
  const TimeDoors::Say& say_;
  std::unique_ptr<Stream> stream_;
};

}  // namespace

std::string say_time(const Room& room) {
  return time_octets(room.volume.now());
}

std::string say_daytime(const Room& room) {
  const fs::Time now = room.volume.now();
  return daytime_line(now, fs::zone_at(now));
}

fs::Status TimeDoors::open(const std::string& name, const DoorConfig& config, Say say) {
  auto door = std::make_unique<Answering>(Answering{name, config, std::move(say), nullptr});
  const auto make = [this, name, &said = door->say](std::unique_ptr<Stream> stream) {
    return std::make_unique<TimeConnection>(room_, name, said, std::move(stream));
  };
  // A free port of the one kind may be taken in the other.
  const int tries = config.port == 0 ? most_tries : 1;
  std::unique_ptr<Listener> listener;
  for (int i = 1; !door->datagrams; ++i) {
    auto opened = Listener::open(loop_, name, config, make);
    if (!opened) return opened.error();
    listener = std::move(*opened);
    auto datagrams = Datagrams::open(loop_, datagrams_, name, config, listener->port());
    if (datagrams) {
      door->datagrams = std::move(*datagrams);
    } else if (i == tries || datagrams.error().code != fs::Code::busy) {
      return datagrams.error();
    }
  }
  listeners_.push_back(std::move(listener));
  answering_.push_back(std::move(door));
  wait(*answering_.back());
  return {};
}

void TimeDoors::close() {
  for (auto& listener : listeners_) listener->close();
  for (auto& door : answering_) door->datagrams->close();
}

void TimeDoors::wait(Answering& door) {
  door.datagrams->wait([self = self_, &door] {
    if (*self == nullptr) return;
    for (const auto& heard : door.datagrams->hear()) (*self)->answer(door, heard);
    door.datagrams->flush();
    (*self)->wait(door);
  });
}

// An answer to one of our own doors would be answered there.
bool TimeDoors::is_ours(std::uint16_t port) const {
  for (const auto& door : answering_) {
    if (door->datagrams->local().port() == port) return true;
  }
  return false;
}

void TimeDoors::answer(Answering& door, const Datagrams::Heard& heard) {
  const std::uint16_t port = heard.from.port();
  if (!may_be_asking(port) || is_ours(port)) return;
  const auto may_reach_us = [&](const boost::asio::ip::address& address) {
    return door.config.is_public || is_private(address);
  };
  if (!may_reach_us(heard.from.address())) return;
  if (!heard.at.is_unspecified() && !may_reach_us(heard.at)) return;
  if (!room_.stations.admit(heard.from.address().to_string(), door.name)) return;
  door.datagrams->say(heard.from, heard.at, door.say());
}

}  // namespace stationer::server
