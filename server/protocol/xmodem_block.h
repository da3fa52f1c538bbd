// The blocks of XMODEM and YMODEM, and what is said between them.
// Source: X/YMODEM Protocol Reference, C. Forsberg, 10-14-88: sections 4, 5, 7 and 8.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

#include "server/protocol/transfer.h"

namespace stationer::server::xmodem {

inline constexpr char soh = 0x01;  // begins a block of 128 bytes
inline constexpr char stx = 0x02;  // one of 1,024
inline constexpr char eot = 0x04;
inline constexpr char ack = 0x06;
inline constexpr char nak = 0x15;  // at the start: blocks with sums, please
inline constexpr char can = 0x18;
inline constexpr char sub = 0x1A;  // fills up the last block
inline constexpr char crc_please = 'C';
inline constexpr char stream_please = 'G';  // with CRC, and no answers to blocks

inline constexpr std::size_t short_block = 128;
inline constexpr std::size_t long_block = 1024;

enum class Check : std::uint8_t { sum, crc };

std::uint8_t sum_of(std::string_view data);   // section 7.2: without carries
std::uint16_t crc_of(std::string_view data);  // section 8: 1021, from 0, highest bit first
std::string check_of(std::string_view data, Check check);
inline std::size_t check_size(Check check) {
  return check == Check::crc ? 2 : 1;
}

// `data` has 128 or 1,024 bytes.
std::string block(std::uint8_t number, std::string_view data, Check check);

// What ends a transfer from either side, and what takes the signs of it off a terminal's screen
// (section 4.1).
inline constexpr std::string_view cancellation = "\x18\x18\x18\x18\x18\x18\x18\x18\b\b\b\b\b\b\b\b";

// Block 0 of a batch (section 5), filled up with NUL to 128 or, for a long name, 1,024 bytes. Of a
// file without a name: the end of the batch.
std::string write_header(const FileFacts& facts);
// The reverse; what can't be read is left out. An empty name is the end of the batch.
FileFacts read_header(std::string_view data);

}  // namespace stationer::server::xmodem
