#include "server/bootstrap/hex_lines.h"

#include <algorithm>

#include <fmt/format.h>

namespace stationer::server {
namespace {

std::uint8_t octet(char byte) {
  return static_cast<std::uint8_t>(byte);
}

std::uint8_t sum_of(std::string_view bytes, unsigned from) {
  for (const char byte : bytes) from += octet(byte);
  return static_cast<std::uint8_t>(from);
}

unsigned sum_of(std::uint16_t address) {
  return (address >> 8U) + (address & 0xFFU);
}

std::string digits_of(std::string_view bytes) {
  std::string out;
  for (const char byte : bytes) out += fmt::format("{:02X}", octet(byte));
  return out;
}

int value_of(char digit) {
  if (digit >= '0' && digit <= '9') return digit - '0';
  if (digit >= 'A' && digit <= 'F') return digit - 'A' + 10;
  if (digit >= 'a' && digit <= 'f') return digit - 'a' + 10;
  return -1;
}

// The digits that `text` begins with, which are taken off it.
std::string_view take_digits(std::string_view& text) {
  std::size_t count = 0;
  while (count < text.size() && value_of(text[count]) >= 0) ++count;
  const std::string_view digits = text.substr(0, count);
  text.remove_prefix(count);
  return digits;
}

void skip(std::string_view& text, std::string_view what) {
  text.remove_prefix(std::min(text.find_first_not_of(what), text.size()));
}

unsigned number_of(std::string_view digits) {
  unsigned number = 0;
  for (const char digit : digits) number = number * 16 + static_cast<unsigned>(value_of(digit));
  return number;
}

std::string s_record(char type, std::uint16_t address, std::string_view bytes) {
  const auto count = static_cast<unsigned>(bytes.size()) + 3;
  const unsigned sum = sum_of(bytes, count + sum_of(address));
  return fmt::format("S{}{:02X}{:04X}{}{:02X}", type, count, address, digits_of(bytes),
                     ~sum & 0xFFU);
}

// Of 16, 8, 4 or 2 things beside something else; the last column stays free.
std::size_t most_that_fit(int columns, int beside, int each) {
  for (const int count : {16, 8, 4}) {
    if (beside + each * count < columns) return static_cast<std::size_t>(count);
  }
  return 2;
}

}  // namespace

std::uint8_t check_of_hex_line(std::uint16_t address, std::string_view bytes) {
  unsigned check = (address >> 8U) * 3 + (address & 0xFFU);
  for (const char byte : bytes) check = check * 3 + octet(byte);
  return static_cast<std::uint8_t>(check);
}

std::string hex_line(std::uint16_t address, std::string_view bytes) {
  std::string line = fmt::format("{:04X}:", address);
  for (const char byte : bytes) line += fmt::format(" {:02X}", octet(byte));
  return line + fmt::format("  {:02X}", check_of_hex_line(address, bytes));
}

// An address and its colon, three cells a byte, four for the check.
std::size_t bytes_in_hex_line(int columns) {
  return most_that_fit(columns, 9, 3);
}

std::optional<TypedBytes> read_hex_line(std::string_view typed) {
  skip(typed, " \t");
  const std::string_view address = take_digits(typed);
  if (address.empty() || address.size() > 4) return {};
  TypedBytes read{static_cast<std::uint16_t>(number_of(address)), {}};
  skip(typed, ":- \t");
  for (;;) {
    const std::string_view pair = take_digits(typed);
    if (pair.size() != 2 || (!typed.empty() && typed.front() != ' ')) break;
    read.bytes += static_cast<char>(number_of(pair));
    skip(typed, " \t");
  }
  if (read.bytes.empty()) return {};
  return read;
}

std::string ihex_line(std::uint16_t address, std::string_view bytes) {
  const auto count = static_cast<unsigned>(bytes.size());
  const unsigned sum = sum_of(bytes, count + sum_of(address));
  return fmt::format(":{:02X}{:04X}00{}{:02X}", count, address, digits_of(bytes),
                     (0x100 - sum) & 0xFFU);
}

std::string_view ihex_end() {
  return ":00000001FF";
}

// What is not a byte has eleven digits at most.
std::size_t bytes_in_record(int columns) {
  return most_that_fit(columns, 11, 2);
}

std::string srec_line(std::uint16_t address, std::string_view bytes) {
  return s_record('1', address, bytes);
}

std::string srec_end(std::uint16_t entry_point) {
  return s_record('9', entry_point, {});
}

}  // namespace stationer::server
