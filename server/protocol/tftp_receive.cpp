#include "server/protocol/tftp_receive.h"

namespace stationer::server {

TftpReceive::TftpReceive(const TftpTerms& terms, Time now)
    : numbers_(terms.block_after_last),
      pace_(terms.timeout),
      window_(terms.window),
      heard_(now),
      deadline_(now + pace_.wait()) {}

bool TftpReceive::take(std::uint16_t number, bool last, Time now) {
  if (state_ == State::receiving && number == numbers_.shown(expected_)) {
    ++expected_;
    pace_.progressed();
    heard_ = now;
    gap_told_ = false;
    if (last) state_ = State::complete;
    if (last || ++in_window_ >= window_) due_ = true;
    deadline_ = now + pace_.wait();
    return true;
  }
  if (expected_ > 1 && number == numbers_.shown(expected_ - 1)) {
    due_ = true;  // the sender has not heard that it came
    return false;
  }
  if (state_ != State::receiving || gap_told_) return false;
  // One of the next blocks, but not the next one: what lies between is lost (RFC 7440 §4).
  if (numbers_.meant(number, expected_ + 1, expected_ + window_)) {
    gap_told_ = true;
    due_ = true;
  }
  return false;
}

void TftpReceive::answered(Time now) {
  due_ = false;
  in_window_ = 0;
  deadline_ = now + (state_ == State::complete ? Time::duration(linger) : pace_.wait());
}

void TftpReceive::tick(Time now) {
  if (now < deadline_) return;
  if (state_ == State::complete) {
    if (!due_) state_ = State::over;
    return;
  }
  if (state_ != State::receiving) return;
  if (now - heard_ >= pace_.patience()) {
    state_ = State::given_up;
    return;
  }
  pace_.silent();
  due_ = true;
  deadline_ = now + pace_.wait();
}

}  // namespace stationer::server
