// A serial line as a door for one station after the other: opened when its port is there, taken up
// again when it comes back, and a visit for as long as somebody is there.
#pragma once

#include <functional>
#include <memory>
#include <optional>
#include <string>

#include <boost/asio/steady_timer.hpp>

#include "server/config.h"
#include "server/net/asio_loop.h"
#include "server/net/connection.h"
#include "server/net/serial_stream.h"
#include "server/protocol/line_test.h"

namespace stationer::server {

class SerialDoor {
 public:
  using Make = std::function<std::unique_ptr<Connection>(std::unique_ptr<Stream>)>;

  SerialDoor(AsioLoop& loop, const SerialLineConfig& config, Make make);
  ~SerialDoor();

  void open();
  void close();  // who is there hears that the service stops

  const SerialLineConfig& config() const { return config_; }
  // Tests the line with what is at its other end, which has to send back what comes; whoever looks
  // at the greeting there has to press Enter again afterwards. Code::busy while another test runs;
  // why the port can't be used. The caller sees to it that nobody is disturbed.
  Task<fs::Result<LineTest::Findings>> test();
  // In a sentence, when the line can't be used; empty when it can.
  const std::string& trouble() const { return trouble_; }

 private:
  using Tested = fs::Result<LineTest::Findings>;

  Task<void> live();
  Task<Tested> run_test();
  Task<void> wait(std::chrono::milliseconds time);

  AsioLoop& loop_;
  const SerialLineConfig& config_;
  Make make_;
  boost::asio::steady_timer timer_;
  std::string trouble_;
  std::shared_ptr<bool> alive_ = std::make_shared<bool>(true);
  std::unique_ptr<Connection> connection_;
  SerialStream* stream_ = nullptr;  // the connection's
  std::optional<Later<Tested>> testing_;
  Task<void> life_;
};

}  // namespace stationer::server
