// The TFTP door: stations load programs and boot from it, and those that are known hand files in.
// Reading is a guest's, of what everyone may read within one folder; the store decides by its one
// rule, as everywhere.
//
// An answer comes from another port than the request went to (RFC 1350 §4). The ports are a few,
// opened with the door at random, and each transfer gets one of them at random: what tells
// transfers apart is the station's own port, with this one as the sign that a packet belongs to
// it. So a transfer needs no socket of its own, and one call to the system serves many.
#pragma once

#include <cstdint>
#include <deque>
#include <memory>
#include <random>
#include <string>
#include <unordered_map>
#include <vector>

#include <boost/asio/steady_timer.hpp>

#include "server/config.h"
#include "server/net/asio_loop.h"
#include "server/net/datagrams.h"
#include "server/net/tftp_transfer.h"
#include "server/room.h"
#include "server/shared_content.h"

namespace stationer::server {

class TftpDoor {
 public:
  // Code::bad_input, Code::busy or Code::denied when the door can't open.
  static fs::Result<std::unique_ptr<TftpDoor>> open(AsioLoop& loop, Room& room,
                                                    SharedContents& contents,
                                                    const TftpDoorConfig& config);
  ~TftpDoor();

  std::string address() const;
  std::uint16_t port() const;
  std::size_t transfers() const { return all_.size(); }
  void close();

 private:
  static constexpr std::size_t ports = 128;

  struct Held {
    std::unique_ptr<TftpTransfer> transfer;
    std::string address;
    std::size_t index = 0;  // in all_
    bool waits_for_turn = false;
    bool gone = false;
  };
  using HeldPtr = std::shared_ptr<Held>;
  struct HashEndpoint {
    std::size_t operator()(const Endpoint& endpoint) const;
  };

  TftpDoor(AsioLoop& loop, Room& room, SharedContents& contents, const TftpDoorConfig& config);
  void listen();
  void listen(std::size_t port);
  void request(const Datagrams::Heard& heard);
  void packet(Datagrams& socket, const Datagrams::Heard& heard);
  fs::Status begin(const tftp::Request& request, const std::string& address, const TftpLine& line);
  using Begun = fs::Result<std::unique_ptr<TftpTransfer>>;
  Begun begin_sending(const tftp::Request& request, Session& session, const TftpLine& line,
                      const HeldPtr& held, const TftpLimits& limits);
  Begun begin_receiving(const tftp::Request& request, std::unique_ptr<Session> session,
                        const TftpLine& line, const HeldPtr& held, const TftpLimits& limits);
  void go_on(const HeldPtr& held);
  void end(const HeldPtr& held);
  void give_turns_soon();
  void give_turns();
  void flush_soon();
  void note_failure(const std::string& address, const std::string& file, bool saving,
                    const fs::Error& error);
  void watch_deadlines();
  TftpWake wake(const HeldPtr& held);

  AsioLoop& loop_;
  Room& room_;
  SharedContents& contents_;
  const TftpDoorConfig& config_;
  DatagramRoom datagrams_;
  std::unique_ptr<Datagrams> door_;
  std::vector<std::unique_ptr<Datagrams>> ports_;
  std::minstd_rand pick_{std::random_device{}()};
  std::vector<HeldPtr> all_;
  std::unordered_map<Endpoint, Held*, HashEndpoint> by_peer_;
  std::unordered_map<std::string, std::size_t> by_address_;
  std::deque<HeldPtr> turns_;
  bool flush_due_ = false;
  boost::asio::steady_timer timer_;
  bool watching_ = false;
  std::shared_ptr<TftpDoor*> self_;  // null once we are gone, for what was posted before
};

}  // namespace stationer::server
