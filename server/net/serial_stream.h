// A stream over a serial port, whose bytes go out as fast as the station can take them.
#pragma once

#include <chrono>
#include <memory>
#include <string>

#include <boost/asio/io_context.hpp>

#include "server/net/serial_port.h"
#include "server/net/stream.h"

namespace stationer::server {

// For stations that lose what comes while they work on what came before. Not while files are
// carried, which have ways of their own.
struct Pacing {
  std::chrono::milliseconds character{0};  // after each byte
  std::chrono::milliseconds line{0};       // after each line feed, or carriage return without one
};

class SerialStream final : public Stream {
 public:
  // `name` is what the line is called.
  SerialStream(boost::asio::io_context& context, SerialPort port, std::string name,
               const SerialSettings& settings, const Pacing& pacing);
  ~SerialStream() override;  // hangs up, where there is a carrier

  // The end of a line is always Read::End::broken: nobody is there to read.
  Later<Read> read(std::optional<Time> until = std::nullopt) override;
  Later<Read> pause(Time until) override;
  void wake() override;
  void carry(bool on) override;
  Later<bool> write(std::string bytes, bool urgent_end = false) override;
  void end_output() override {}
  const std::string& address() const override { return name_; }

  bool has_carrier() const;
  // Ends the reading there is as if the line had broken.
  void break_off();

 private:
  struct State;
  std::shared_ptr<State> state_;
  const std::string name_;
  const SerialSettings settings_;
};

}  // namespace stationer::server
