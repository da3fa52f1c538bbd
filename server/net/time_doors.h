// The time doors, RFC 868 and RFC 867, each over TCP and UDP at one port. They ask nothing of the
// store but whether a station may use them.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "server/config.h"
#include "server/net/asio_loop.h"
#include "server/net/datagrams.h"
#include "server/net/listener.h"
#include "server/room.h"

namespace stationer::server {

class TimeDoors {
 public:
  // What a door of that name ("time", "daytime") says to whoever comes.
  using Say = std::function<std::string()>;

  TimeDoors(AsioLoop& loop, Room& room)
      : loop_(loop), room_(room), self_(std::make_shared<TimeDoors*>(this)) {}
  ~TimeDoors() { *self_ = nullptr; }
  TimeDoors(const TimeDoors&) = delete;
  TimeDoors& operator=(const TimeDoors&) = delete;

  // Code::bad_input, Code::busy or Code::denied when the port can't be had for both.
  fs::Status open(const std::string& name, const DoorConfig& config, Say say);
  void close();

  // Of the doors that are open; the datagrams come to the same ports.
  const std::vector<std::unique_ptr<Listener>>& listeners() const { return listeners_; }

 private:
  struct Answering {
    std::string name;
    const DoorConfig& config;
    Say say;
    std::unique_ptr<Datagrams> datagrams;
  };

  void wait(Answering& door);
  void answer(Answering& door, const Datagrams::Heard& heard);
  bool is_ours(std::uint16_t port) const;

  AsioLoop& loop_;
  Room& room_;
  DatagramRoom datagrams_;
  std::vector<std::unique_ptr<Listener>> listeners_;
  std::vector<std::unique_ptr<Answering>> answering_;
  std::shared_ptr<TimeDoors*> self_;  // null once we are gone, for what was posted before
};

// What they say now.
std::string say_time(const Room& room);
std::string say_daytime(const Room& room);

}  // namespace stationer::server
