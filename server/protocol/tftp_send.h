// The sender of a TFTP transfer (RFC 1350), a window at a time where that was agreed on (RFC 7440).
// It knows block numbers and the time; what is in the blocks is its caller's, who fills them from
// the file anew when they go again, so that a transfer keeps nothing of the file.
//
//   while (const auto block = machine.next()) { send it; machine.sent(was_last, now); }
//
// A block goes again only after silence, or from where a gap was acknowledged, and never because an
// acknowledgement came twice: that would double everything from then on (RFC 1123 §4.2.3.1). For
// the same reason the acknowledgement before a window, which a receiver repeats when the window's
// first block is lost, is not heeded: silence ends it.
//
// The packet that answers options is block 0 here, as its acknowledgement has it.
#pragma once

#include <cstdint>
#include <optional>

#include "server/protocol/tftp_terms.h"
#include "server/protocol/time.h"

namespace stationer::server {

class TftpSend {
 public:
  enum class State : std::uint8_t { sending, done, given_up };

  TftpSend(const TftpTerms& terms, Time now);

  // The block to go now; nothing as long as something has to be heard first.
  std::optional<std::uint64_t> next() const;
  // next() went. `last`: it was shorter than others, and ends the file.
  void sent(bool last, Time now);
  void acked(std::uint16_t number, Time now);
  // Silence until deadline().
  void tick(Time now);

  State state() const { return state_; }
  Time deadline() const { return deadline_; }
  // The first block that may have to go again.
  std::uint64_t oldest() const { return oldest_; }
  std::uint16_t shown(std::uint64_t block) const { return numbers_.shown(block); }

 private:
  void wait(Time now) { deadline_ = now + pace_.wait(); }

  BlockNumbers numbers_;
  TftpPace pace_;
  std::uint16_t window_;
  State state_ = State::sending;
  std::uint64_t oldest_;               // not acknowledged yet
  std::uint64_t next_;                 // to go
  std::uint64_t end_;                  // after the highest that ever went
  std::optional<std::uint64_t> last_;  // once it is known
  // A block that went once, and when: its answer tells how long answers take.
  std::optional<std::uint64_t> timed_;
  Time timed_at_{};
  Time heard_;  // the last progress
  Time deadline_;
};

}  // namespace stationer::server
