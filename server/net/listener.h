// One open door: takes connections, bounds how many there are, and lets them go when they are done.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <string>
#include <string_view>

#include <boost/asio/generic/stream_protocol.hpp>
#include <boost/asio/ip/tcp.hpp>

#include "fs/result.h"
#include "server/config.h"
#include "server/net/asio_loop.h"
#include "server/net/connection.h"
#include "server/net/stream.h"

namespace stationer::server {

class Listener {
 public:
  using Make = std::function<std::unique_ptr<Connection>(std::unique_ptr<Stream>)>;

  // Opens the door. Code::bad_input or Code::busy, in a sentence, when the address or port can't be
  // had. `full` is what one too many is told, in the door's own protocol.
  static fs::Result<std::unique_ptr<Listener>> open(AsioLoop& loop, std::string name,
                                                    const DoorConfig& config, Make make,
                                                    std::string_view full = {});
  ~Listener();

  const std::string& name() const { return name_; }
  std::string address() const;
  std::uint16_t port() const;
  std::size_t connections() const { return connections_.size(); }
  std::uint64_t turned_away() const { return turned_away_; }

  // No more connections; the ones there hear that the service stops.
  void close();

 private:
  struct Held {
    std::unique_ptr<Connection> connection;
    std::string address;
    Task<void> life;
  };

  Listener(AsioLoop& loop, std::string name, const DoorConfig& config, Make make,
           std::string_view full);
  void accept();
  void admit(boost::asio::ip::tcp::socket socket);
  Task<void> live(std::uint64_t number, Connection& connection);

  AsioLoop& loop_;
  std::string name_;
  DoorConfig config_;
  Make make_;
  std::string full_;
  boost::asio::ip::tcp::acceptor acceptor_;
  std::shared_ptr<Listener*> self_;  // null once we are gone, for what was posted before
  std::map<std::uint64_t, Held> connections_;
  std::map<std::string, std::size_t> by_address_;
  std::uint64_t next_ = 1;
  std::uint64_t turned_away_ = 0;
};

}  // namespace stationer::server
