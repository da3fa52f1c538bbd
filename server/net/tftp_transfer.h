// One transfer of the TFTP door, from its request to its end.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <string_view>

#include "server/net/datagrams.h"
#include "server/protocol/tftp_packet.h"
#include "server/protocol/tftp_terms.h"
#include "server/session.h"
#include "server/shared_content.h"

namespace stationer::server {

// How a transfer reaches its station.
struct TftpLine {
  Datagrams* socket = nullptr;
  Endpoint peer;
  boost::asio::ip::address_v4 at;  // this machine's address that the station knows

  std::span<char> say(std::size_t size) const { return socket->say(peer, at, size); }
  void say(std::string_view octets) const { socket->say(peer, at, octets); }
};

class TftpTransfer {
 public:
  enum class State : std::uint8_t { going, done, failed };

  TftpTransfer(const TftpLine& line, std::string file) : line_(line), file_(std::move(file)) {}
  virtual ~TftpTransfer() = default;
  TftpTransfer(const TftpTransfer&) = delete;
  TftpTransfer& operator=(const TftpTransfer&) = delete;

  void heard(const tftp::Packet& packet, Time now);
  // Silence until deadline().
  virtual void tick(Time now) = 0;
  virtual Time deadline() const = 0;
  // Says what can be said now, in no more than `most` datagrams. True when there is more.
  virtual bool say(std::size_t most, Time now) = 0;
  // What it waited for elsewhere has come.
  virtual void woken() {}
  // Whether such a request, from the same port of the station, is the one that began this, come
  // again or late. Where the network is crowded, requests come seconds after the answer to their
  // like. From a station that begins anew nothing else is heard.
  bool is_begun_by(const tftp::Request& request, Time now) const;
  bool is_new() const { return !heard_; }  // nothing was heard since
  virtual bool writes() const = 0;

  State state() const { return state_; }
  const TftpLine& line() const { return line_; }
  const std::string& file() const { return file_; }
  const std::string& failure() const { return failure_; }  // a sentence, once it failed

 protected:
  virtual void got(const tftp::Data& data, Time now) = 0;
  virtual void got(const tftp::Ack& ack, Time now) = 0;
  // Ends it and tells the station why; and the keeper, who can do more about it.
  void fail(tftp::ErrorCode code, std::string_view to_station, std::string to_keeper);
  void finish() { state_ = State::done; }
  void silence_failed();

 private:
  TftpLine line_;
  std::string file_;
  State state_ = State::going;
  std::string failure_;
  std::optional<Time> heard_;  // last
};

// Which ERROR tells best what went wrong.
tftp::ErrorCode tftp_code(const fs::Error& error);

// Called, if the transfer is still there or not, when woken() is due: what it waited for elsewhere
// has come, and it may have something to say, or be over. Never from inside a call.
using TftpWake = std::function<void()>;

std::unique_ptr<TftpTransfer> send_by_tftp(SharedContents& contents,
                                           SharedContents::OpenPtr content,
                                           const tftp::Request& request, const TftpLimits& limits,
                                           const TftpLine& line, Time now, TftpWake wake);

std::unique_ptr<TftpTransfer> receive_by_tftp(std::unique_ptr<Session> session,
                                              Session::UploadPtr upload,
                                              const tftp::Request& request,
                                              const TftpLimits& limits, const TftpLine& line,
                                              Time now, TftpWake wake);

}  // namespace stationer::server
