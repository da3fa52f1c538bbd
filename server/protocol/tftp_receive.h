// The receiver of a TFTP transfer (RFC 1350, windows by RFC 7440). It knows block numbers and the
// time, and says which blocks are the next of the file and what is to be acknowledged; storing is
// its caller's, who sends an acknowledgement only once it is stored, and the last one only once it
// is safe.
//
// The last block that came well is acknowledged again when it comes again, so that a lost
// acknowledgement does no harm, also after the end (RFC 1350 §6).
#pragma once

#include <cstdint>
#include <optional>

#include "server/protocol/tftp_terms.h"
#include "server/protocol/time.h"

namespace stationer::server {

class TftpReceive {
 public:
  enum class State : std::uint8_t { receiving, complete, over, given_up };
  // How long the last acknowledgement is repeated when the last block comes again.
  static constexpr std::chrono::seconds linger{10};

  TftpReceive(const TftpTerms& terms, Time now);

  // Whether this is the next block of the file. `last`: it is shorter than others.
  bool take(std::uint16_t number, bool last, Time now);
  // What is to be acknowledged now: 0 is the request, by ACK or OACK.
  std::optional<std::uint64_t> due() const {
    return due_ ? std::optional(expected_ - 1) : std::nullopt;
  }
  void answered(Time now);
  void tick(Time now);

  // complete: all has come; over: and nobody asks any more.
  State state() const { return state_; }
  Time deadline() const { return deadline_; }
  std::uint16_t shown(std::uint64_t block) const { return numbers_.shown(block); }

 private:
  BlockNumbers numbers_;
  TftpPace pace_;
  std::uint16_t window_;
  State state_ = State::receiving;
  std::uint64_t expected_ = 1;
  std::uint16_t in_window_ = 0;  // came since the last acknowledgement
  bool due_ = true;
  bool gap_told_ = false;
  Time heard_;
  Time deadline_;
};

}  // namespace stationer::server
