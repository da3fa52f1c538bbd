#include "server/protocol/tftp_send.h"

#include <algorithm>

namespace stationer::server {

TftpSend::TftpSend(const TftpTerms& terms, Time now)
    : numbers_(terms.block_after_last),
      pace_(terms.timeout),
      window_(terms.window),
      oldest_(terms.oack.empty() ? 1 : 0),
      next_(oldest_),
      end_(oldest_),
      heard_(now),
      deadline_(now + pace_.wait()) {}

std::optional<std::uint64_t> TftpSend::next() const {
  if (state_ != State::sending) return std::nullopt;
  // Data go once the answer to the options is acknowledged: RFC 2347.
  const std::uint64_t room = oldest_ == 0 ? 1 : window_;
  if (next_ >= oldest_ + room || (last_ && next_ > *last_)) return std::nullopt;
  return next_;
}

void TftpSend::sent(bool last, Time now) {
  if (last) last_ = next_;
  if (next_ == end_) {
    ++end_;
    if (!timed_) {
      timed_ = next_;
      timed_at_ = now;
    }
  }
  ++next_;
  wait(now);
}

void TftpSend::acked(std::uint16_t number, Time now) {
  if (state_ != State::sending) return;
  const auto block = numbers_.meant(number, oldest_, end_);
  if (!block) return;
  if (timed_ && *block >= *timed_) {
    pace_.answered(now - timed_at_);
    timed_.reset();
  }
  pace_.progressed();
  heard_ = now;
  oldest_ = *block + 1;
  // In the middle of a window: what came after was lost on the way (RFC 7440 §4).
  next_ = oldest_;
  if (last_ && oldest_ > *last_) state_ = State::done;
  wait(now);
}

void TftpSend::tick(Time now) {
  if (state_ != State::sending || now < deadline_) return;
  if (now - heard_ >= pace_.patience()) {
    state_ = State::given_up;
    return;
  }
  pace_.silent();
  timed_.reset();  // what goes twice can't be timed
  next_ = oldest_;
  wait(now);
}

}  // namespace stationer::server
