// The packets of Kermit: making them, and finding them among whatever else comes over a line.
// Source: Kermit Protocol Manual, 6th ed., F. da Cruz, June 1986: chapter 4, and 7.1 for long ones
// (known through the check values of its packets).
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace stationer::server::kermit {

inline constexpr char mark = 0x01;
inline constexpr unsigned sequence_count = 64;
inline constexpr std::size_t longest_short = 94;   // what the length field can say
inline constexpr std::size_t longest_long = 9024;  // section 7.1: 95 * 94 + 94

constexpr char to_char(unsigned value) {
  return static_cast<char>(value + 32);
}
constexpr unsigned un_char(char character) {
  return static_cast<unsigned>(static_cast<unsigned char>(character)) - 32;
}
constexpr char ctl(char character) {
  return static_cast<char>(character ^ 64);
}
constexpr unsigned after(unsigned sequence, unsigned steps = 1) {
  return (sequence + steps) % sequence_count;
}

// How a packet is checked, by the characters it takes: a sum folded to six bits, a sum of twelve
// bits, or a CRC of sixteen.
enum class Check : std::uint8_t { one = 1, two = 2, three = 3 };

std::string check_of(std::string_view counted, Check check);

struct Packet {
  unsigned sequence = 0;
  char type = 0;
  std::string data;

  bool operator==(const Packet&) const = default;
};

// From the mark to the check. What is too long for a short packet becomes a long one.
std::string write_packet(const Packet& packet, Check check);

// Finds packets in what comes. Whatever stands between them is passed over; a mark always begins a
// packet, because inside of one it is never sent as itself.
class PacketReader {
 public:
  struct Found {
    bool well = false;  // false: one came that does not check
    Packet packet;
  };

  // The check of packets from now on. NAKs tell theirs by their length, and what begins a
  // transaction has a check of one character.
  void use_check(Check check) { check_ = check; }
  // Bit 8 of every byte is parity.
  void use_seven_bits(bool seven) { seven_bits_ = seven; }
  // A packet came whole whose mark and other characters had their bit 8 set, which parity does.
  bool saw_parity() const { return saw_parity_; }

  // Takes octets off the front, up to the end of a packet.
  std::optional<Found> take(std::string_view& octets);

  bool inside() const { return state_ != State::outside; }
  // What was begun is given up: nothing more came.
  void reset() { state_ = State::outside; }
  // Ctrl-C came three times in a row between packets: somebody types it who has no program.
  bool broken_off() const { return control_cs_ >= break_off_times; }

 private:
  enum class State : std::uint8_t { outside, length, long_fields, rest };
  static constexpr int break_off_times = 3;

  std::optional<Found> take(char octet);
  Found finish() const;

  Check check_ = Check::one;
  bool seven_bits_ = false;
  bool saw_parity_ = false;
  bool odd_mark_ = false;       // this packet's mark had its bit 8 set
  std::size_t odd_octets_ = 0;  // others of it
  State state_ = State::outside;
  std::string counted_;   // from the length field on
  std::size_t size_ = 0;  // of that, when it is complete
  int control_cs_ = 0;    // in a row; when they are enough, they stay so
};

}  // namespace stationer::server::kermit
