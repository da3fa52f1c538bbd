// Datagrams by the dozen: one call to the system for many, both ways. The only file that knows
// recvmmsg and sendmmsg is datagrams.cpp. Addresses are IPv4 unless the door was given another.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <boost/asio/ip/udp.hpp>

#include "fs/result.h"
#include "server/config.h"
#include "server/net/asio_loop.h"

namespace stationer::server {

using Endpoint = boost::asio::ip::udp::endpoint;

// What is heard and said at once, shared by all sockets of a loop.
class DatagramRoom {
 public:
  static constexpr std::size_t most = 64;                            // datagrams in one call
  static constexpr std::size_t longest_heard = 2048;                 // what is longer is cut
  static constexpr std::size_t most_said = std::size_t{256} * 1024;  // octets in one call

  DatagramRoom();
  ~DatagramRoom();
  DatagramRoom(const DatagramRoom&) = delete;
  DatagramRoom& operator=(const DatagramRoom&) = delete;

 private:
  friend class Datagrams;
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

class Datagrams {
 public:
  struct Heard {
    Endpoint from;
    // The address of this machine that it was sent to, and has to be answered from; 0.0.0.0 where
    // the socket has only one.
    boost::asio::ip::address_v4 at;
    std::string_view octets;  // until the next hear()
  };

  // Code::busy, Code::denied or Code::bad_input, in a sentence, when the port can't be had. `port`
  // is not that of the settings where a door has further ports.
  static fs::Result<std::unique_ptr<Datagrams>> open(AsioLoop& loop, DatagramRoom& room,
                                                     const std::string& name,
                                                     const DoorConfig& config, std::uint16_t port);
  ~Datagrams();

  Endpoint local() const;
  void close();

  // Calls `heard` once when there is something to hear.
  void wait(std::function<void()> heard);
  // What has come, at most DatagramRoom::most; empty when there is nothing. What was sent to a
  // broadcast or multicast address is not heard: to answer that is not for us (for TFTP, RFC 1123
  // §4.2.3.5).
  std::span<const Heard> hear();

  // A place for a datagram of `size` octets, to be filled before anything else is called. What was
  // said goes out when there is no more room, and by flush(). What the system does not take is
  // lost, as datagrams are.
  std::span<char> say(const Endpoint& to, boost::asio::ip::address_v4 from, std::size_t size);
  void say(const Endpoint& to, boost::asio::ip::address_v4 from, std::string_view octets);
  // Takes the last say() back.
  void unsay();
  void flush();

 private:
  Datagrams(AsioLoop& loop, DatagramRoom& room);

  boost::asio::ip::udp::socket socket_;
  DatagramRoom& room_;
};

}  // namespace stationer::server
