#include "server/protocol/xmodem_send.h"

#include <algorithm>
#include <utility>

namespace stationer::server {
namespace {

using namespace xmodem;

constexpr std::size_t fetch_size = std::size_t{16} * 1024;
constexpr std::chrono::seconds reply_wait{60};
constexpr std::chrono::seconds end_wait{10};
// Receivers that lost the end of the batch ask for it again after ten seconds.
constexpr std::chrono::seconds closing_wait{15};
// The receiver says every three seconds that it wants to begin (section 8.2.1), some every second.
// What comes sooner after a block was on its way already.
constexpr std::chrono::milliseconds stale_wait{900};
// What was streamed may still be on its way, at 300 bit/s.
constexpr std::chrono::milliseconds slowest_octet{34};
constexpr std::chrono::minutes longest_way{30};
// A line that spoils long blocks gets short ones.
constexpr int most_troubles_of_long = 3;

}  // namespace

void XmodemSend::got_file(FileFacts facts) {
  facts_ = std::move(facts);
  begin_file();
}

void XmodemSend::got_no_file() {
  if (!options_.batch) return done();
  facts_ = {};
  last_ = true;
  begin_file();
}

void XmodemSend::begin_file() {
  state_ = State::go;
  next_ = options_.batch ? Next::header : Next::data;
  number_ = 0;
  ready_.clear();
  read_all_ = last_;
  wants_block_ = extra_sub_ = acknowledged_ = false;
  retries_ = troubles_ = 0;
  streamed_ = 0;
  wait(started_ ? reply_wait : options_.patience);
  if (!last_) fetch();
}

void XmodemSend::fetch() {
  ask(Read{fetch_size});
}

std::size_t XmodemSend::take(std::string_view octets) {
  const char octet = octets.front();
  if (octet == can) {
    if (std::exchange(cancelled_once_, true)) fail("The other side broke it off.");
    return 1;
  }
  cancelled_once_ = false;
  if (state_ != State::go) {
    reply(octet);
    return 1;
  }
  if (octet != crc_please && octet != nak && !(octet == stream_please && options_.batch)) return 1;
  go(octet);
  return 1;
}

void XmodemSend::go(char how) {
  if (!std::exchange(started_, true)) {
    check_ = how == nak ? Check::sum : Check::crc;
    streaming_ = how == stream_please;
    started_by_ = how;
  }
  if (next_ == Next::header) {
    send_frame(block(0, write_header(facts_), check_), last_ ? State::closed : State::header_sent);
  } else if (streaming_) {
    stream();
  } else {
    next_block();
  }
}

void XmodemSend::send_frame(std::string frame, State state) {
  frame_ = std::move(frame);
  send(frame_);
  state_ = state;
  sent_at_ = now();
  wait(state == State::ended ? end_wait : state == State::closed ? closing_wait : reply_wait);
}

void XmodemSend::reply(char octet) {
  // It may have asked several times before anybody listened. What comes together with the first
  // time is no answer.
  if (octet == started_by_ && !acknowledged_ && now() == sent_at_) return;
  const bool is_start = octet == crc_please || octet == stream_please;
  if (octet == ack) {
    retries_ = 0;
    switch (state_) {
      case State::header_sent:
        state_ = State::go;
        next_ = Next::data;
        wait(reply_wait);
        return;
      case State::block_sent: acknowledged_ = true; return next_block();
      case State::ended: return ask(Sent{});
      case State::closed: return done();
      case State::go: return;
    }
  }
  // A streaming receiver does not acknowledge the header, nor the batch's end (section 6).
  if (octet == stream_please && streaming_ && state_ == State::header_sent) return stream();
  if (octet == stream_please && streaming_ && state_ == State::closed) return done();
  const bool still_starting =
      is_start && !acknowledged_ && state_ != State::ended && now() - sent_at_ >= stale_wait;
  if (octet == nak || still_starting) again();
}

void XmodemSend::again() {
  if (streaming_ && state_ == State::block_sent) return;
  if (++retries_ > most_retries) {
    break_off("The line is too bad: the same block failed " + std::to_string(most_retries) +
              " times.");
    return;
  }
  ++troubles_;
  send_frame(frame_, state_);
}

void XmodemSend::timed_out() {
  switch (state_) {
    case State::go:
      return break_off(started_ ? "The other side went silent."
                                : "The other side did not begin to receive.");
    case State::ended: return again();
    case State::closed: return done();  // it has every file
    case State::header_sent:
    case State::block_sent: return break_off("The other side went silent.");
  }
}

void XmodemSend::got_bytes(std::string bytes) {
  read_all_ = bytes.size() < fetch_size;
  extra_sub_ = read_all_ && !options_.batch && facts_.text.value_or(false) &&
               (ready_.size() + bytes.size()) % short_block == 0;
  ready_ += bytes;
  if (streaming_ && wants_block_) {
    stream();
  } else if (std::exchange(wants_block_, false)) {
    next_block();
  }
}

// The next block's data, filled up. There are enough, or they are the last.
std::string XmodemSend::cut_block() {
  const bool may_be_long = options_.long_blocks && check_ == Check::crc &&
                           (troubles_ < most_troubles_of_long || streaming_);
  const std::size_t size =
      may_be_long && ready_.size() > long_block - short_block ? long_block : short_block;
  std::string data = ready_.substr(0, size);
  ready_.erase(0, size);
  data.resize(size, sub);
  return data;
}

void XmodemSend::next_block() {
  if (ready_.size() < long_block && !read_all_) {
    wants_block_ = true;
    return fetch();
  }
  if (ready_.empty() && !std::exchange(extra_sub_, false)) {
    send_frame(std::string(1, eot), State::ended);
    return;
  }
  send_frame(block(++number_, cut_block(), check_), State::block_sent);
  if (ready_.size() < long_block && !read_all_) fetch();
}

// All that is ready goes at once; whoever moves the bytes asks for no more before they are gone.
void XmodemSend::stream() {
  state_ = State::block_sent;
  while (ready_.size() >= long_block || (read_all_ && !ready_.empty())) {
    const std::string frame = block(++number_, cut_block(), check_);
    streamed_ += frame.size();
    send(frame);
  }
  wants_block_ = !read_all_;
  if (read_all_) {
    send_frame(std::string(1, eot), State::ended);
    wait(std::min<Time::duration>(longest_way, end_wait + streamed_ * slowest_octet));
  } else {
    wait(reply_wait);
    fetch();
  }
}

void XmodemSend::accepted() {
  if (options_.batch) {
    ask(NextFile());
  } else {
    done();
  }
}

}  // namespace stationer::server
