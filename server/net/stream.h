// A connection as coroutines want it: read what has come, write all of this. One read and one write
// may wait at a time. Letting the stream go closes the connection; nothing is called back then.
#pragma once

#include <memory>
#include <optional>
#include <string>

#include <boost/asio/generic/stream_protocol.hpp>

#include "server/loop.h"

namespace stationer::server {

class Stream {
 public:
  using Socket = boost::asio::generic::stream_protocol::socket;
  static constexpr std::size_t most_read = 16 * 1024;

  struct Read {
    enum class End { none, orderly, broken, deadline, woken };
    std::string bytes;  // empty unless `end` is none
    End end = End::none;
    bool urgent = false;  // urgent data are on the way; only told when watched for
  };

  explicit Stream(Socket socket);
  ~Stream();
  Stream(const Stream&) = delete;
  Stream& operator=(const Stream&) = delete;

  // Waits for bytes, the end, or `until`. Memory for bytes is only taken when there are some.
  Later<Read> read(std::optional<Time> until = std::nullopt);
  // Waits for `until` only, as a read that hears nothing.
  Later<Read> pause(Time until);
  // Ends a read that waits, with Read::End::woken. Does nothing when none does.
  void wake();
  // From now on TCP urgent data stay in their place among the others and are announced (RFC 854,
  // the Synch signal).
  void watch_urgent();

  // Writes all; false when the connection broke. With `urgent_end` the last byte is urgent.
  Later<bool> write(std::string bytes, bool urgent_end = false);

  // Sends the end of our output; reading goes on.
  void end_output();

  // Who is at the other end, as "10.0.0.7"; empty for local sockets.
  const std::string& address() const { return address_; }
  Socket& socket();

 private:
  struct State;
  std::shared_ptr<State> state_;
  std::string address_;
};

}  // namespace stationer::server
