#include "server/net/serial_stream.h"

#include <algorithm>
#include <string_view>

#include <boost/asio/posix/stream_descriptor.hpp>
#include <boost/asio/write.hpp>

#include "server/net/reading.h"

namespace stationer::server {

namespace asio = boost::asio;
using boost::system::error_code;
using Descriptor = asio::posix::stream_descriptor;

struct SerialStream::State final : Reading<Descriptor> {
  State(Descriptor from, const Pacing& how) : Reading(std::move(from)), pacing(how) {
    at_end = Read::End::broken;
  }

  const Pacing pacing;
  bool carries = false;
  std::optional<Later<bool>> writing;
  std::string output;
  std::size_t written = 0;
  asio::steady_timer rest{device.get_executor()};

  void write_on() {
    const std::string_view left = std::string_view(output).substr(written);
    if (left.empty()) return end_write(true);
    const std::size_t size = next_size(left);
    asio::async_write(device, asio::buffer(left.data(), size),
                      [state = self(), size](const error_code& failed, std::size_t) {
                        if (failed) return state->end_write(false);
                        state->written += size;
                        state->rest_and_go_on();
                      });
  }

 private:
  std::shared_ptr<State> self() { return std::static_pointer_cast<State>(shared_from_this()); }

  void end_write(bool done) {
    if (writing) std::exchange(writing, std::nullopt)->bring(done);
  }

  std::size_t next_size(std::string_view left) const {
    if (carries) return left.size();
    if (pacing.character.count() != 0) return 1;
    if (pacing.line.count() == 0) return left.size();
    return std::min(left.find_first_of("\r\n"), left.size() - 1) + 1;
  }

  void rest_and_go_on() {
    const char last = output[written - 1];
    const bool more = written < output.size();
    const bool line_ended = last == '\n' || (last == '\r' && (!more || output[written] != '\n'));
    auto time = pacing.character;
    if (line_ended) time = std::max(time, pacing.line);
    if (carries || time.count() == 0) return write_on();
    rest.expires_after(time);
    rest.async_wait([state = self()](const error_code& failed) {
      if (!failed && state->writing) state->write_on();
    });
  }
};

SerialStream::SerialStream(asio::io_context& context, SerialPort port, std::string name,
                           const SerialSettings& settings, const Pacing& pacing)
    : name_(std::move(name)), settings_(settings) {
  Descriptor descriptor(context, port.release());
  error_code ignored;
  descriptor.non_blocking(true, ignored);
  state_ = std::make_shared<State>(std::move(descriptor), pacing);
  if (settings_.carrier) SerialPort::answer(state_->device.native_handle());
}

SerialStream::~SerialStream() {
  state_->writing.reset();
  state_->rest.cancel();
  if (settings_.carrier) SerialPort::hang_up(state_->device.native_handle());
  state_->let_go();
}

Later<Stream::Read> SerialStream::read(std::optional<Time> until) {
  return state_->read(until);
}

Later<Stream::Read> SerialStream::pause(Time until) {
  return state_->pause(until);
}

void SerialStream::wake() {
  state_->give_up(Read::End::woken);
}

void SerialStream::carry(bool on) {
  state_->carries = on;
  SerialPort::keep_all_bytes(state_->device.native_handle(), settings_, on);
}

Later<bool> SerialStream::write(std::string bytes, bool) {
  const Later<bool> later = state_->writing.emplace();
  state_->output = std::move(bytes);
  state_->written = 0;
  state_->write_on();
  return later;
}

void SerialStream::break_off() {
  state_->give_up(Read::End::broken);
}

bool SerialStream::has_carrier() const {
  return SerialPort::has_carrier(state_->device.native_handle());
}

}  // namespace stationer::server
