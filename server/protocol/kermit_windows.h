// The packets that are on their way at once (Kermit Protocol Manual, 6th ed., F. da Cruz, June
// 1986, sliding windows; from memory). With a window of one it is the plain protocol.
#pragma once

#include <array>
#include <cstddef>
#include <deque>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "server/protocol/kermit_packet.h"
#include "server/protocol/time.h"

namespace stationer::server::kermit {

// Sent, and not acknowledged by all means: kept to be sent again.
class SendWindow {
 public:
  struct Sent {
    unsigned sequence = 0;
    std::string octets;
    Time at{};               // when it was sent last
    std::size_t before = 0;  // octets on their way then, its own among them
    bool again = false;      // it was sent more than once
    bool acknowledged = false;
  };

  std::size_t size() const { return sent_.size(); }
  bool empty() const { return sent_.empty(); }
  Sent& push(unsigned sequence, std::string octets) {
    sent_.push_back({sequence, std::move(octets), {}, 0, false, false});
    return sent_.back();
  }
  // Null when no such packet waits to be acknowledged.
  Sent* find(unsigned sequence) {
    for (Sent& each : sent_) {
      if (each.sequence == sequence && !each.acknowledged) return &each;
    }
    return nullptr;
  }
  // Those at the front that are acknowledged leave.
  void acknowledge(Sent& sent) {
    sent.acknowledged = true;
    while (!sent_.empty() && sent_.front().acknowledged) sent_.pop_front();
  }
  std::size_t octets() const {
    std::size_t sum = 0;
    for (const Sent& each : sent_) sum += each.acknowledged ? 0 : each.octets.size();
    return sum;
  }
  Sent& oldest() { return sent_.front(); }
  void clear() { sent_.clear(); }

 private:
  std::deque<Sent> sent_;
};

// Received ahead of one that is missing.
class ReceiveWindow {
 public:
  // The packet that is to be used next.
  unsigned expected() const { return expected_; }
  void expect(unsigned sequence) {
    expected_ = sequence;
    kept_ = {};
  }

  enum class Kind { fresh, repeated, outside };
  // `size`: of the window. What is fresh is kept until next() gives it.
  Kind put(Packet packet, unsigned size) {
    const unsigned ahead = (packet.sequence + sequence_count - expected_) % sequence_count;
    if (ahead >= sequence_count - size) return Kind::repeated;
    if (ahead >= size) return Kind::outside;
    std::optional<Packet>& place = kept_[packet.sequence];
    if (place) return Kind::repeated;
    place = std::move(packet);
    return Kind::fresh;
  }
  std::optional<Packet> next() {
    std::optional<Packet> packet = std::exchange(kept_[expected_], std::nullopt);
    if (packet) expected_ = after(expected_);
    return packet;
  }
  bool has(unsigned sequence) const { return kept_[sequence].has_value(); }

 private:
  unsigned expected_ = 0;
  std::array<std::optional<Packet>, sequence_count> kept_;
};

}  // namespace stationer::server::kermit
