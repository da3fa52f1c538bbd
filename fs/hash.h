// Hashes of contents. The only place that knows libnettle, which needs no start of its own and so
// works where a print job is locked in, too.
#pragma once

#include <array>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>

namespace stationer::fs {

// SHA-256 (FIPS 180-4): tells whether contents are what was saved. Today's processors have
// instructions for it, and every host has sha256sum to compare with.
using Hash = std::array<std::uint8_t, 32>;

class Hasher {
 public:
  Hasher();
  ~Hasher();
  Hasher(Hasher&&) noexcept;
  Hasher& operator=(Hasher&&) noexcept;
  void add(std::string_view bytes);
  Hash finish();  // once

 private:
  struct State;
  std::unique_ptr<State> state_;
};

Hash hash_of(std::string_view bytes);
std::string hex(std::span<const std::uint8_t> bytes);

}  // namespace stationer::fs
