// Bytes as lines of text with a check in each, for people to type and for monitors to read. Pure.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace stationer::server {

// What 8-bit machines can address.
inline constexpr std::size_t whole_memory = 0x10000;

// ---- to be typed ----

// "8000: C3 00 01 4F": an address, bytes, and a check of both.
std::string hex_line(std::uint16_t address, std::string_view bytes);
// From 0, for the two bytes of the address and each of the line times 3 plus the byte, in 8 bits:
// two that are swapped change it.
std::uint8_t check_of_hex_line(std::uint16_t address, std::string_view bytes);
// As many bytes to a line as a screen of that width can show: 16, 8, 4 or 2.
std::size_t bytes_in_hex_line(int columns);

// What somebody typed, or a monitor showed: an address and pairs of digits, up to the first thing
// that is something else. Nothing if it does not begin so.
struct TypedBytes {
  std::uint16_t address;
  std::string bytes;
};
std::optional<TypedBytes> read_hex_line(std::string_view typed);

// ---- for monitors that load them ----

// Source: Hexadecimal Object File Format Specification, Intel, revision A, 1988: types 00 and 01.
std::string ihex_line(std::uint16_t address, std::string_view bytes);
std::string_view ihex_end();

// Source: M68000 Family Programmer's Reference Manual, Motorola, appendix C: S1 and S9.
std::string srec_line(std::uint16_t address, std::string_view bytes);
std::string srec_end(std::uint16_t entry_point);

// As many bytes to a record as fit on a screen of that width: 16, 8, 4 or 2.
std::size_t bytes_in_record(int columns);

}  // namespace stationer::server
