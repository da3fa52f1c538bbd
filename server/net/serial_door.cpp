#include "server/net/serial_door.h"

#include <utility>

#include <spdlog/spdlog.h>

namespace stationer::server {
namespace {

// How often a port that is not there, and a carrier that is not there, are looked for.
constexpr std::chrono::milliseconds port_interval{1000};
constexpr std::chrono::milliseconds carrier_interval{200};
// Modems take a DTR that is off so long for the wish to hang up (ITU-T V.24, circuit 108/2).
constexpr std::chrono::milliseconds hung_up{600};

}  // namespace

SerialDoor::SerialDoor(AsioLoop& loop, const SerialLineConfig& config, Make make)
    : loop_(loop), config_(config), make_(std::move(make)), timer_(loop.context()) {}

SerialDoor::~SerialDoor() {
  *alive_ = false;
}

void SerialDoor::open() {
  life_ = live();
  life_.start();
}

void SerialDoor::close() {
  if (connection_) connection_->stopping();
}

Task<void> SerialDoor::wait(std::chrono::milliseconds time) {
  Later<bool> over;
  timer_.expires_after(time);
  timer_.async_wait([over, alive = alive_](const boost::system::error_code& failed) {
    if (!failed && *alive) over.bring(true);
  });
  co_await over;
}

Task<void> SerialDoor::live() {
  for (;;) {
    auto port = SerialPort::open(config_.port);
    if (!port) {
      trouble_ = port.error().message;
      co_await wait(port_interval);
      continue;
    }
    trouble_.clear();
    auto stream = std::make_unique<SerialStream>(loop_.context(), std::move(*port), config_.name,
                                                 config_.port, config_.pacing);
    while (config_.port.carrier && !stream->has_carrier() &&
           SerialPort::is_there(config_.port.device)) {
      co_await wait(carrier_interval);
    }
    connection_ = make_(std::move(stream));
    try {
      co_await connection_->run();
    } catch (const std::exception& bug) {
      spdlog::error("A visit at the serial line {} ended by a fault in the program: {}",
                    config_.name, bug.what());
    }
    // Not from inside: it may be the connection itself that went on to here.
    co_await wait(std::chrono::milliseconds(0));
    connection_.reset();
    co_await wait(hung_up);
  }
}

}  // namespace stationer::server
