// A connection as coroutines want it: read what has come, write all of this. One read and one write
// may wait at a time. Letting the stream go closes the connection; nothing is called back then.
#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>

#include "server/loop.h"

namespace stationer::server {

class Stream {
 public:
  struct Read {
    enum class End { none, orderly, broken, deadline, woken };
    std::string bytes;  // empty unless `end` is none
    End end = End::none;
    bool urgent = false;  // urgent data are on the way; only told when watched for
  };

  Stream() = default;
  virtual ~Stream() = default;
  Stream(const Stream&) = delete;
  Stream& operator=(const Stream&) = delete;

  // Waits for bytes, the end, or `until`. Memory for bytes is only taken when there are some.
  virtual Later<Read> read(std::optional<Time> until = std::nullopt) = 0;
  // Waits for `until` only, as a read that hears nothing.
  virtual Later<Read> pause(Time until) = 0;
  // Ends a read that waits, with Read::End::woken. Does nothing when none does.
  virtual void wake() = 0;
  // From now on TCP urgent data stay in their place among the others and are announced (RFC 854,
  // the Synch signal).
  virtual void watch_urgent() {}
  // Bytes are to come and go as they are and as fast as they can, or not any more: for files.
  virtual void carry(bool) {}
  // What was written and is not taken for so long breaks the connection off.
  virtual void give_up_after(std::chrono::milliseconds) {}

  // Writes all; false when the connection broke. With `urgent_end` the last byte is urgent.
  virtual Later<bool> write(std::string bytes, bool urgent_end = false) = 0;

  // A descriptor of the same socket, which does not block, for the host to send files to by itself;
  // null where what is written does not go out as it is.
  virtual std::shared_ptr<const int> descriptor() { return nullptr; }
  // Waits until more can be written to it; false when the connection broke. Not while a write
  // waits.
  virtual Later<bool> writable() {
    const Later<bool> later;
    later.bring(false);
    return later;
  }

  // Sends the end of our output; reading goes on.
  virtual void end_output() = 0;

  // Who is at the other end, as "10.0.0.7", or the name of a serial line; empty for local sockets.
  virtual const std::string& address() const = 0;
  // Of TCP, for doors that make further connections between the same two machines: the address at
  // our end, and the port at the other.
  virtual std::string own_address() const { return {}; }
  virtual std::uint16_t port() const { return 0; }
};

}  // namespace stationer::server
