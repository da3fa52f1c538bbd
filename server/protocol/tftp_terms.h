// What both ends of a TFTP transfer agree on, and how blocks are counted. Pure.
// Source: RFC 2347 (options), 2348 (blksize), 2349 (timeout, tsize), 7440 (windowsize).
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>

#include "server/protocol/tftp_packet.h"

namespace stationer::server {

// What a server would agree to.
struct TftpLimits {
  std::size_t block = tftp::largest_block;
  std::uint16_t window = 64;                        // blocks
  std::size_t in_flight = std::size_t{256} * 1024;  // octets in a window
  std::uint16_t block_after_last = 0;  // what follows 65,535, for which there is no rule
};

struct TftpTerms {
  std::uint16_t block = tftp::usual_block;
  std::uint16_t window = 1;
  std::uint16_t block_after_last = 0;
  std::optional<std::chrono::seconds> timeout;
  std::string oack;  // the packet; empty when no option was asked for that is known here
};

// Options that are not known, make no sense or come a second time are left out of the answer, as
// RFC 2347 wants it. `size`: of the file to be read, if it is known in octets as they will be sent;
// for writing, what was announced comes back.
TftpTerms agree(const tftp::Request& request, const TftpLimits& limits,
                std::optional<std::uint64_t> size);

// The size that a request to write announces.
std::optional<std::uint64_t> announced_size(const tftp::Request& request);

// Blocks have a number each, from 0 (the acknowledgement of a request), of which a packet has room
// for the last sixteen bits.
class BlockNumbers {
 public:
  explicit BlockNumbers(std::uint16_t after_last) : restart_(after_last) {}

  std::uint16_t shown(std::uint64_t block) const {
    if (block <= most) return static_cast<std::uint16_t>(block);
    return static_cast<std::uint16_t>(restart_ + (block - most - 1) % cycle());
  }
  // Which block from `first` to before `end` is shown like that.
  std::optional<std::uint64_t> meant(std::uint16_t number, std::uint64_t first,
                                     std::uint64_t end) const;

 private:
  static constexpr std::uint64_t most = 65'535;
  std::uint64_t cycle() const { return most + 1 - restart_; }
  std::uint16_t restart_;
};

// How long to wait for an answer: learned from the answers that came (RFC 6298 §2), twice as long
// after each silence (RFC 1123 §4.2.3.2); or what the client asked for (RFC 2349), doubled alike.
class TftpPace {
 public:
  static constexpr std::chrono::milliseconds first_wait{1000};
  static constexpr std::chrono::milliseconds least_wait{100};
  static constexpr std::chrono::milliseconds most_wait{8000};
  // Without any sign of life for so long, a transfer is over; or four waits that were asked for.
  static constexpr std::chrono::seconds least_patience{30};

  explicit TftpPace(std::optional<std::chrono::seconds> asked);

  std::chrono::milliseconds wait() const;
  std::chrono::seconds patience() const;
  // The time between something sent once and its answer.
  void answered(std::chrono::nanoseconds after);
  void progressed() { doubled_ = 0; }
  void silent() {
    if (doubled_ < 8) ++doubled_;
  }

 private:
  std::optional<std::chrono::seconds> asked_;
  std::chrono::microseconds smoothed_{0};  // 0: nothing was measured yet
  std::chrono::microseconds variation_{0};
  int doubled_ = 0;
};

}  // namespace stationer::server
