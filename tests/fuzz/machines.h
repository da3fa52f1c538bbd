// The machines of server/protocol as a fuzzer drives them. Each takes an input as a script: what
// comes over the line, in which pieces, and how time passes. Whatever does not hold ends the
// program with a sentence.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <string_view>

namespace stationer::fuzz {

void xmodem_receive(std::string_view script);
void xmodem_send(std::string_view script);
void kermit_receive(std::string_view script);
void kermit_send(std::string_view script);
void kermit_serve(std::string_view script);
void carry_between(std::string_view script);  // two ends of ours over a line that makes mistakes
void telnet(std::string_view script);
void dialect(std::string_view script);
void line_editor(std::string_view script);
void station_text(std::string_view script);
void lpd(std::string_view script);
void ftp(std::string_view script);
void tftp_transfer(std::string_view script);
void jsonrpc(std::string_view script);
void http(std::string_view script);

inline void require(bool holds, const char* what) {
  if (holds) return;
  std::fprintf(stderr, "does not hold: %s\n", what);
  std::abort();
}

// An input, read from its front. Past its end everything is 0 and empty.
class Script {
 public:
  explicit Script(std::string_view rest) : rest_(rest) {}

  bool over() const { return rest_.empty(); }
  std::uint8_t number() {
    if (rest_.empty()) return 0;
    const auto value = static_cast<std::uint8_t>(rest_.front());
    rest_.remove_prefix(1);
    return value;
  }
  std::string_view bytes(std::size_t count) {
    const std::string_view out = rest_.substr(0, count);
    rest_.remove_prefix(out.size());
    return out;
  }
  template <class Value, std::size_t size>
  const Value& one_of(const std::array<Value, size>& values, std::size_t number) {
    return values[number % size];
  }

 private:
  std::string_view rest_;
};

// What a machine did, as one number.
class Sum {
 public:
  void add(std::uint64_t value) { sum_ = (sum_ ^ value) * 0x100000001B3u; }
  void add(std::string_view bytes) {
    for (const char byte : bytes) add(static_cast<std::uint64_t>(static_cast<unsigned char>(byte)));
  }
  std::uint64_t value() const { return sum_; }

 private:
  std::uint64_t sum_ = 0xCBF29CE484222325u;
};

}  // namespace stationer::fuzz
