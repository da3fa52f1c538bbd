#include "server/protocol/kermit_packet.h"

#include <utility>

namespace stationer::server::kermit {
namespace {

unsigned sum_of(std::string_view counted) {
  unsigned sum = 0;
  for (const char c : counted) sum += static_cast<unsigned char>(c);
  return sum;
}

// Reflected 1021, by half bytes.
unsigned crc_of(std::string_view counted) {
  unsigned crc = 0;
  for (const char c : counted) {
    const unsigned byte = static_cast<unsigned char>(c);
    crc = crc >> 4 ^ ((crc ^ byte) & 15) * 4225;
    crc = crc >> 4 ^ ((crc ^ byte >> 4) & 15) * 4225;
  }
  return crc;
}

std::size_t size_of(Check check) {
  return static_cast<std::size_t>(check);
}

constexpr char control_c = 0x03;
// Some send short packets that are longer by one than they may be.
constexpr unsigned longest_heard = longest_short + 1;
// Sequence number and type, which every length counts.
constexpr std::size_t fields_size = 2;
// What comes before the data, from the length field on.
constexpr std::size_t short_head = 3;
constexpr std::size_t long_head = 6;

bool begins_transaction(char type) {
  return std::string_view("SIRGCKE").find(type) != std::string_view::npos;
}

}  // namespace

std::string check_of(std::string_view counted, Check check) {
  switch (check) {
    case Check::one: {
      const unsigned sum = sum_of(counted);
      return {to_char((sum + (sum & 192) / 64) & 63)};
    }
    case Check::two: {
      const unsigned sum = sum_of(counted);
      return {to_char(sum >> 6 & 63), to_char(sum & 63)};
    }
    case Check::three: {
      const unsigned crc = crc_of(counted);
      return {to_char(crc >> 12 & 15), to_char(crc >> 6 & 63), to_char(crc & 63)};
    }
  }
  return {};
}

std::string write_packet(const Packet& packet, Check check) {
  const std::size_t length = fields_size + packet.data.size() + size_of(check);
  std::string counted;
  if (length <= longest_short) {
    counted = {to_char(static_cast<unsigned>(length)), to_char(packet.sequence), packet.type};
  } else {
    const auto rest = static_cast<unsigned>(packet.data.size() + size_of(check));
    counted = {' ', to_char(packet.sequence), packet.type, to_char(rest / 95), to_char(rest % 95)};
    counted += check_of(counted, Check::one);
  }
  counted += packet.data;
  return mark + counted + check_of(counted, check);
}

std::optional<PacketReader::Found> PacketReader::take(std::string_view& octets) {
  while (!octets.empty()) {
    const char octet = octets.front();
    octets.remove_prefix(1);
    if (auto found = take(octet)) return found;
  }
  return std::nullopt;
}

std::optional<PacketReader::Found> PacketReader::take(char octet) {
  const bool odd = (octet & 0x80) != 0;
  const char seven = static_cast<char>(octet & 0x7F);
  const bool is_odd_mark = odd && seven == mark && !seven_bits_;
  if (seven_bits_ || odd_mark_) octet = seven;
  if (octet == mark || is_odd_mark) {
    state_ = State::length;
    odd_mark_ = is_odd_mark;
    odd_octets_ = 0;
    counted_.clear();
    if (!broken_off()) control_cs_ = 0;
    return std::nullopt;
  }
  if (state_ == State::outside) {
    if (!broken_off()) control_cs_ = octet == control_c ? control_cs_ + 1 : 0;
    return std::nullopt;
  }
  counted_ += octet;
  if (odd) ++odd_octets_;
  if (state_ == State::length) {
    const unsigned length = un_char(octet);
    size_ = 1 + length;
    state_ = length == 0 ? State::long_fields : State::rest;
    // A short one has its two fields and a check at least; other octets are no length at all.
    if (length > longest_heard || (length != 0 && length <= fields_size)) state_ = State::outside;
  } else if (state_ == State::long_fields && counted_.size() == long_head) {
    const std::string_view counted = counted_;
    const unsigned length = un_char(counted[3]) * 95 + un_char(counted[4]);
    const bool well = length >= size_of(Check::one) && length <= longest_long &&
                      check_of(counted.substr(0, 5), Check::one) == counted.substr(5);
    size_ = long_head + length;
    state_ = well ? State::rest : State::outside;
    if (!well) return Found();
  }
  if (state_ != State::rest || counted_.size() != size_) return std::nullopt;
  state_ = State::outside;
  const Found found = finish();
  if (std::exchange(odd_mark_, false) && found.well && odd_octets_ > 0) {
    saw_parity_ = seven_bits_ = true;
  }
  return found;
}

PacketReader::Found PacketReader::finish() const {
  const std::string_view counted = counted_;
  const bool is_long = counted[0] == ' ';
  const char type = counted[2];
  const std::size_t head = is_long ? long_head : short_head;
  const auto checked_by = [&](Check check) {
    if (counted.size() < head + size_of(check)) return false;
    const std::size_t end = counted.size() - size_of(check);
    return check_of(counted.substr(0, end), check) == counted.substr(end);
  };
  Check check = check_;
  if (type == 'N' && counted.size() > short_head && counted.size() <= short_head + 3) {
    check = static_cast<Check>(counted.size() - short_head);
  }
  bool well = checked_by(check);
  if (!well && begins_transaction(type)) {
    check = Check::one;
    well = checked_by(check);
  }
  if (!well || un_char(counted[1]) >= sequence_count) return {};
  return {true,
          {un_char(counted[1]), type,
           std::string(counted.substr(head, counted.size() - head - size_of(check)))}};
}

}  // namespace stationer::server::kermit
