#include "server/protocol/xmodem_receive.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

namespace stationer::server {
namespace {

using namespace xmodem;

// Sections 7.3.2 and 8.2.1.
constexpr std::chrono::seconds block_wait{10};
constexpr std::chrono::seconds octet_wait{1};
constexpr std::chrono::seconds crc_invitation_wait{3};
constexpr int most_crc_invitations = 4;
// Between a file's header and its first block.
constexpr std::chrono::seconds start_wait{60};

}  // namespace

void XmodemReceive::started() {
  give_up_ = now() + options_.patience;
  if (options_.batch) {
    header_next_ = true;
    expected_ = 0;
    invite();
  } else {
    asked_ = Asked::open;
    ask(Open{});
  }
}

// Asks for the first block, by its check; for sums once it seems that CRC is not understood.
void XmodemReceive::invite() {
  state_ = State::between;
  ++invitations_;
  if (options_.batch) {
    send(std::string(1, options_.streaming ? stream_please : crc_please));
    wait(crc_invitation_wait);
  } else if (invitations_ <= most_crc_invitations) {
    send(std::string(1, crc_please));
    wait(crc_invitation_wait);
  } else {
    check_ = Check::sum;
    send(std::string(1, nak));
    wait(block_wait);
  }
}

void XmodemReceive::begin_waiting() {
  state_ = State::between;
  wait(block_wait);
}

std::size_t XmodemReceive::take(std::string_view octets) {
  switch (state_) {
    case State::between: begin_block(octets.front()); return 1;
    case State::spoilt: wait(octet_wait); return octets.size();
    case State::inside: break;
  }
  const std::size_t used = std::min(frame_size_ - frame_.size(), octets.size());
  frame_ += octets.substr(0, used);
  wait(octet_wait);
  if (frame_.size() == frame_size_) block_complete();
  return used;
}

void XmodemReceive::begin_block(char octet) {
  const bool begins = octet == soh || octet == stx;
  if (std::exchange(mistrusts_, mistrusts_ && !begins) && !begins) return wait(octet_wait);
  const bool second_cancel = std::exchange(cancelled_once_, octet == can);
  const bool second_eot = std::exchange(eot_once_, octet == eot && eot_once_);
  switch (octet) {
    case can:
      if (second_cancel) fail("The other side broke it off.");
      return;
    case soh:
    case stx:
      state_ = State::inside;
      frame_.assign(1, octet);
      frame_size_ = 3 + (octet == stx ? long_block : short_block) + check_size(check_);
      wait(octet_wait);
      return;
    case eot:
      if (header_next_) return send(std::string(1, ack));  // it did not hear that we have the file
      if (second_eot || facts_.size == received_ || options_.streaming) return end_of_file();
      // One may have been made by the line of something else.
      eot_once_ = true;
      send(std::string(1, nak));
      wait(block_wait);
      return;
    default:
      // It may be a block whose first octet is spoilt: what that holds is the end of nothing.
      mistrusts_ = heard_;
      if (mistrusts_) wait(octet_wait);
      return;
  }
}

void XmodemReceive::block_complete() {
  const std::string_view frame = frame_;
  const auto number = static_cast<std::uint8_t>(frame[1]);
  const std::string_view data = frame.substr(3, frame.size() - 3 - check_size(check_));
  const bool well = static_cast<std::uint8_t>(frame[2]) == 255 - number &&
                    check_of(data, check_) == frame.substr(3 + data.size());
  if (!well) return spoil();
  take_block(number, data);
}

void XmodemReceive::take_block(std::uint8_t number, std::string_view data) {
  if (number == expected_) return header_next_ ? take_header(data) : take_data(data);
  if (heard_ && number == static_cast<std::uint8_t>(expected_ - 1)) {
    // It did not hear that we have it.
    retries_ = 0;
    begin_waiting();
    acknowledge();
    if (options_.batch && expected_ == 1 && received_ == 0) invite();
    return;
  }
  break_off("The two sides do not agree any more which block is next. Send the file again.");
}

void XmodemReceive::take_header(std::string_view data) {
  facts_ = read_header(data);
  heard_ = true;
  retries_ = 0;
  if (facts_.name.empty()) {
    send(std::string(1, ack));
    return done();
  }
  asked_ = Asked::open;
  ask(Open{facts_});
}

void XmodemReceive::take_data(std::string_view data) {
  heard_ = true;
  retries_ = 0;
  std::string bytes(std::exchange(filling_, 0), sub);
  if (facts_.size) {
    bytes += data.substr(0, static_cast<std::size_t>(
                                std::min<std::uint64_t>(data.size(), *facts_.size - received_)));
  } else {
    const std::size_t end = options_.keep_filling ? data.size() : data.find_last_not_of(sub) + 1;
    bytes += data.substr(0, end);
    filling_ = data.size() - end;
  }
  received_ += bytes.size();
  asked_ = Asked::write;
  ask(Write{std::move(bytes)});
}

void XmodemReceive::end_of_file() {
  if (facts_.size && *facts_.size != received_) {
    break_off(fmt::format("The file was to have {} bytes, and only {} came. Send it again.",
                          *facts_.size, received_));
    return;
  }
  asked_ = Asked::close;
  ask(Close());
}

void XmodemReceive::accepted() {
  switch (std::exchange(asked_, Asked::nothing)) {
    case Asked::open:
      expected_ = 1;
      received_ = 0;
      filling_ = 0;
      if (options_.batch) {
        header_next_ = false;
        give_up_ = now() + start_wait;
        acknowledge();
      }
      return invite();
    case Asked::write:
      ++expected_;
      begin_waiting();
      return acknowledge();
    case Asked::close:
      send(std::string(1, ack));
      if (!options_.batch) return done();
      facts_ = {};
      header_next_ = true;
      heard_ = false;
      expected_ = 0;
      invitations_ = 0;
      give_up_ = now() + options_.patience;
      return invite();
    case Asked::nothing: return;
  }
}

void XmodemReceive::acknowledge() {
  if (!options_.streaming) send(std::string(1, ack));
}

// What comes now would be misunderstood: it is let go by.
void XmodemReceive::spoil() {
  if (options_.streaming) {
    break_off("The line lost something, which this form of YMODEM can't mend. Use the plain one.");
    return;
  }
  state_ = State::spoilt;
  wait(octet_wait);
}

void XmodemReceive::again() {
  const bool starting = !heard_ || (options_.batch && expected_ == 1 && received_ == 0);
  if (starting && state_ == State::between) {
    if (now() >= give_up_) return break_off("The other side did not begin to send.");
    return invite();
  }
  if (++retries_ > most_retries) {
    break_off("The line is too bad: the same block failed " + std::to_string(most_retries) +
              " times.");
    return;
  }
  begin_waiting();
  send(std::string(1, nak));
}

void XmodemReceive::timed_out() {
  mistrusts_ = false;
  if (state_ == State::inside) return spoil();
  again();
}

}  // namespace stationer::server
