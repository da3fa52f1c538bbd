// Whether a serial line carries all that it is given: sends every byte from 00 to FF, and then much
// at once, to an end that sends back what comes (a loop plug, or a program), and says in words what
// became of it. Pure.
//
// What is wrong on the way there and what is wrong on the way back look the same from here.
#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "server/protocol/time.h"

namespace stationer::server {

class LineTest {
 public:
  struct Findings {
    bool well = false;
    std::vector<std::string> sentences;  // what was found, and what to do about it
  };

  explicit LineTest(std::uint32_t bits_per_second);

  // What is to be sent now, at the line's own pace; ask again at deadline(), or when more came.
  std::string next(Time now);
  void feed(std::string_view received, Time now);
  std::optional<Time> deadline() const { return over_ ? std::nullopt : deadline_; }
  // XON and XOFF are bytes like others now; in the second part the line's own handshake is at work.
  bool wants_all_bytes() const { return part_ == Part::bytes; }
  bool over() const { return over_; }
  // How long it takes when nothing is lost.
  std::chrono::seconds usual_time() const;

  Findings findings() const;  // once it is over

 private:
  enum class Part : std::uint8_t { bytes, burst };

  void begin(Part part);
  std::chrono::nanoseconds time_of(std::size_t bytes) const;

  const std::uint32_t bits_per_second_;
  Part part_ = Part::bytes;
  std::string to_send_;
  std::size_t sent_ = 0;
  std::string received_[2];  // of each part
  std::size_t burst_size_;   // records
  std::optional<Time> deadline_;
  Time last_heard_{};
  bool over_ = false;
};

}  // namespace stationer::server
