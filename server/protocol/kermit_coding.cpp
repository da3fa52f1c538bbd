#include "server/protocol/kermit_coding.h"

#include <algorithm>
#include <array>

namespace stationer::server::kermit {
namespace {

constexpr std::size_t most_repeated = 94;
constexpr std::size_t least_repeated = 4;  // three cost no more as they are

bool is_control(unsigned char byte) {
  return (byte & 0x7F) < 32 || (byte & 0x7F) == 127;
}

// One byte, as up to three characters.
struct Coded {
  std::array<char, 3> characters{};
  std::size_t count = 0;
  void put(char c) { characters[count++] = c; }
};

Coded encode_byte(char byte, const Terms& terms) {
  Coded out;
  if (terms.eighth_bit && (byte & 0x80) != 0) {
    out.put(*terms.eighth_bit);
    byte = static_cast<char>(byte & 0x7F);
  }
  const char seven = static_cast<char>(byte & 0x7F);
  if (is_control(static_cast<unsigned char>(byte))) {
    out.put(terms.control_prefix);
    out.put(ctl(byte));
  } else {
    if (seven == terms.control_prefix || (terms.eighth_bit && seven == *terms.eighth_bit) ||
        (terms.repeat && seven == *terms.repeat)) {
      out.put(terms.control_prefix);
    }
    out.put(byte);
  }
  return out;
}

}  // namespace

std::string encode(std::string_view& bytes, std::size_t room, const Terms& terms) {
  std::string out;
  while (!bytes.empty()) {
    const Coded coded = encode_byte(bytes.front(), terms);
    std::size_t run = 1;
    if (terms.repeat) {
      const std::size_t most = std::min(most_repeated, bytes.size());
      while (run < most && bytes[run] == bytes.front()) ++run;
    }
    // A byte of one character is worth repeating from four on, longer ones from two or three.
    const bool repeated =
        run * coded.count > coded.count + 2 && (run >= least_repeated || coded.count > 1);
    const std::size_t size = coded.count + (repeated ? 2 : 0);
    if (out.size() + size > room) break;
    if (repeated) {
      out += *terms.repeat;
      out += to_char(static_cast<unsigned>(run));
    }
    out.append(coded.characters.data(), coded.count);
    bytes.remove_prefix(repeated ? run : 1);
  }
  return out;
}

std::string encode_all(std::string_view bytes, const Terms& terms) {
  return encode(bytes, std::string::npos, terms);
}

std::optional<std::string> decode(std::string_view data, const Terms& terms) {
  std::string out;
  std::size_t at = 0;
  const auto more = [&] { return at < data.size(); };
  while (more()) {
    std::size_t run = 1;
    if (terms.repeat && data[at] == *terms.repeat) {
      if (data.size() - at < 3) return std::nullopt;
      run = un_char(data[at + 1]);
      if (run > most_repeated) return std::nullopt;
      at += 2;
    }
    char high = 0;
    if (terms.eighth_bit && data[at] == *terms.eighth_bit) {
      high = static_cast<char>(0x80);
      ++at;
      if (!more()) return std::nullopt;
    }
    char byte = data[at++];
    if (byte == terms.their_control_prefix) {
      if (!more()) return std::nullopt;
      byte = data[at++];
      // Only what a control character becomes is turned back; prefixes stand for themselves.
      const char seven = static_cast<char>(byte & 0x7F);
      if (seven >= 63 && seven <= 95) byte = ctl(byte);
    }
    out.append(run, static_cast<char>(byte | high));
  }
  return out;
}

}  // namespace stationer::server::kermit
