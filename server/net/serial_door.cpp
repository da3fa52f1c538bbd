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

Task<SerialDoor::Tested> SerialDoor::test() {
  if (testing_) co_return fs::Error{fs::Code::busy, "This line is being tested already."};
  testing_.emplace();
  const auto tested = *testing_;
  if (stream_ != nullptr) stream_->break_off();
  co_return co_await tested;
}

Task<SerialDoor::Tested> SerialDoor::run_test() {
  SerialSettings settings = config_.port;
  settings.carrier = false;  // a loop plug has none
  auto port = SerialPort::open(settings);
  if (!port) co_return port.error();
  SerialStream stream(loop_.context(), std::move(*port), config_.name, settings, Pacing{});
  LineTest test(settings.speed);
  bool as_bytes = false;
  while (!test.over()) {
    std::string piece = test.next(loop_.now());
    if (test.over()) break;
    if (as_bytes != test.wants_all_bytes()) {
      as_bytes = test.wants_all_bytes();
      stream.carry(as_bytes);
    }
    if (!piece.empty()) {
      const bool written = co_await stream.write(std::move(piece));
      if (!written) co_return fs::Error{fs::Code::io, "The line broke while it was tested."};
    }
    const auto read = co_await stream.read(test.deadline());
    if (read.end == Stream::Read::End::broken) {
      co_return fs::Error{fs::Code::io, "The line broke while it was tested."};
    }
    test.feed(read.bytes, loop_.now());
  }
  co_return test.findings();
}

Task<void> SerialDoor::live() {
  for (;;) {
    if (testing_) {
      auto tested = co_await run_test();
      std::exchange(testing_, std::nullopt)->bring(std::move(tested));
    }
    auto port = SerialPort::open(config_.port);
    if (!port) {
      trouble_ = port.error().message;
      co_await wait(port_interval);
      continue;
    }
    trouble_.clear();
    auto stream = std::make_unique<SerialStream>(loop_.context(), std::move(*port), config_.name,
                                                 config_.port, config_.pacing);
    while (config_.port.carrier && !testing_ && !stream->has_carrier() &&
           SerialPort::is_there(config_.port.device)) {
      co_await wait(carrier_interval);
    }
    if (testing_) continue;
    stream_ = stream.get();
    connection_ = make_(std::move(stream));
    try {
      co_await connection_->run();
    } catch (const std::exception& bug) {
      spdlog::error("A visit at the serial line {} ended by a fault in the program: {}",
                    config_.name, bug.what());
    }
    // Not from inside: it may be the connection itself that went on to here.
    co_await wait(std::chrono::milliseconds(0));
    stream_ = nullptr;
    connection_.reset();
    if (!testing_) co_await wait(hung_up);
  }
}

}  // namespace stationer::server
