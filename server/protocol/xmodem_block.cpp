#include "server/protocol/xmodem_block.h"

#include <array>
#include <charconv>

#include <fmt/format.h>

namespace stationer::server::xmodem {
namespace {

constexpr std::array<std::uint16_t, 256> crc_table = [] {
  std::array<std::uint16_t, 256> table{};
  for (unsigned value = 0; value < 256; ++value) {
    unsigned crc = value << 8;
    for (int bit = 0; bit < 8; ++bit) crc = (crc & 0x8000) != 0 ? crc << 1 ^ 0x1021 : crc << 1;
    table[value] = static_cast<std::uint16_t>(crc);
  }
  return table;
}();

// The next of the words that spaces divide, as a number.
std::optional<std::uint64_t> next_number(std::string_view& words, int base) {
  words.remove_prefix(std::min(words.find_first_not_of(' '), words.size()));
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(words.data(), words.data() + words.size(), value, base);
  if (error != std::errc()) return std::nullopt;
  words.remove_prefix(static_cast<std::size_t>(end - words.data()));
  return value;
}

}  // namespace

std::uint8_t sum_of(std::string_view data) {
  unsigned sum = 0;
  for (const char byte : data) sum += static_cast<std::uint8_t>(byte);
  return static_cast<std::uint8_t>(sum);
}

std::uint16_t crc_of(std::string_view data) {
  std::uint16_t crc = 0;
  for (const char byte : data) {
    const unsigned index = (crc >> 8 ^ static_cast<std::uint8_t>(byte)) & 0xFF;
    crc = static_cast<std::uint16_t>(crc << 8 ^ crc_table[index]);
  }
  return crc;
}

std::string check_of(std::string_view data, Check check) {
  if (check == Check::sum) return {static_cast<char>(sum_of(data))};
  const std::uint16_t crc = crc_of(data);
  return {static_cast<char>(crc >> 8), static_cast<char>(crc & 0xFF)};
}

std::string block(std::uint8_t number, std::string_view data, Check check) {
  std::string out = {data.size() == long_block ? stx : soh, static_cast<char>(number),
                     static_cast<char>(255 - number)};
  out += data;
  out += check_of(data, check);
  return out;
}

std::string write_header(const FileFacts& facts) {
  std::string out = facts.name;
  if (!out.empty()) {
    out += '\0';
    if (facts.size) {
      out += fmt::format("{}", *facts.size);
      if (facts.modified && facts.modified->time_since_epoch().count() > 0) {
        out += fmt::format(" {:o}", facts.modified->time_since_epoch().count());
      }
    }
  }
  out.resize(out.size() < short_block ? short_block : long_block, '\0');
  return out;
}

FileFacts read_header(std::string_view data) {
  FileFacts facts;
  const std::size_t end = std::min(data.find('\0'), data.size());
  facts.name = data.substr(0, end);
  if (facts.name.empty() || end == data.size()) return facts;
  std::string_view words = data.substr(end + 1);
  words = words.substr(0, words.find('\0'));
  facts.size = next_number(words, 10);
  if (!facts.size) return facts;
  const auto seconds = next_number(words, 8);
  // 0 says that it is unknown; later than any clock of ours, that it is nonsense.
  constexpr std::uint64_t latest = std::uint64_t{1} << 40;
  if (seconds && *seconds > 0 && *seconds < latest) {
    facts.modified = std::chrono::sys_seconds(std::chrono::seconds(*seconds));
  }
  return facts;
}

}  // namespace stationer::server::xmodem
