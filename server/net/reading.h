// Reading from whatever Asio can wait for, one reader at a time, by a deadline. Shared with the
// handlers that wait, and so alive as long as they are; whoever waits is found in `reading`, and is
// nobody once the stream is let go.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <utility>

#include <boost/asio/bind_cancellation_slot.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/cancellation_signal.hpp>
#include <boost/asio/error.hpp>
#include <boost/asio/steady_timer.hpp>

#include "server/net/stream.h"

namespace stationer::server {

// Of a socket or a stream descriptor.
template <class Device>
struct Reading : std::enable_shared_from_this<Reading<Device>> {
  using ErrorCode = boost::system::error_code;
  static constexpr std::size_t most_read = std::size_t{16} * 1024;
  static constexpr std::size_t most_carried = std::size_t{256} * 1024;  // of files

  explicit Reading(Device from) : device(std::move(from)) {}
  virtual ~Reading() = default;
  Reading(const Reading&) = delete;
  Reading& operator=(const Reading&) = delete;

  Device device;
  std::size_t most = most_read;  // at a time
  std::optional<Later<Stream::Read>> reading;
  Stream::Read::End at_end = Stream::Read::End::orderly;

  Later<Stream::Read> read(std::optional<Time> until) {
    const Later<Stream::Read> later = reading.emplace();
    if (until) wait_until(*until);
    wait_for_bytes();
    return later;
  }

  Later<Stream::Read> pause(Time until) {
    const Later<Stream::Read> later = reading.emplace();
    wait_until(until);
    return later;
  }

  void give_up(Stream::Read::End why) {
    if (!reading) return;
    stop_waiting_.emit(boost::asio::cancellation_type::all);
    end_read({{}, why, false});
  }

  // Nobody waits any more.
  void let_go() {
    ++turn_;
    reading.reset();
    if (timer_) timer_->cancel();
    ErrorCode ignored;
    device.close(ignored);
  }

 private:
  virtual bool has_urgent() { return false; }

  void wait_for_bytes() {
    device.async_wait(Device::wait_read,
                      boost::asio::bind_cancellation_slot(
                          stop_waiting_.slot(),
                          [self = this->shared_from_this(), turn = turn_](const ErrorCode& failed) {
                            if (turn != self->turn_ || !self->reading) return;
                            if (failed)
                              return self->end_read({{}, Stream::Read::End::broken, false});
                            self->read_now();
                          }));
  }

  void wait_until(Time until) {
    if (!timer_) timer_ = std::make_unique<boost::asio::steady_timer>(device.get_executor());
    timer_->expires_at(until);
    timer_->async_wait([self = this->shared_from_this(), turn = turn_](const ErrorCode& failed) {
      if (!failed && turn == self->turn_) self->give_up(Stream::Read::End::deadline);
    });
  }

  void read_now() {
    // One buffer for all connections of a thread: what came is copied out before the next read,
    // which takes no longer than to fill a string with zeros first. Not an array, which every
    // thread would have, whether or not it reads.
    static thread_local std::string buffer;
    if (buffer.size() < most) buffer.resize(most);
    Stream::Read read;
    read.urgent = has_urgent();
    ErrorCode failed;
    const std::size_t got = device.read_some(boost::asio::buffer(buffer.data(), most), failed);
    if (failed == boost::asio::error::would_block || failed == boost::asio::error::try_again) {
      return wait_for_bytes();
    }
    if (failed == boost::asio::error::eof) {
      read.end = at_end;
    } else if (failed) {
      read.end = Stream::Read::End::broken;
    } else {
      read.bytes.assign(buffer.data(), got);
    }
    end_read(std::move(read));
  }

  void end_read(Stream::Read read) {
    ++turn_;
    if (timer_) timer_->cancel();
    std::exchange(reading, std::nullopt)->bring(std::move(read));
  }

  std::uint64_t turn_ = 0;  // so that what a former read started can't end a later one
  boost::asio::cancellation_signal stop_waiting_;
  std::unique_ptr<boost::asio::steady_timer> timer_;
};

}  // namespace stationer::server
