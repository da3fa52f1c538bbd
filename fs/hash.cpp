#include "fs/hash.h"

#include <nettle/sha2.h>

namespace stationer::fs {
namespace {

void add_to(sha256_ctx& context, std::string_view bytes) {
  sha256_update(&context, bytes.size(), reinterpret_cast<const std::uint8_t*>(bytes.data()));
}

Hash digest_of(sha256_ctx& context) {
  Hash out;
  static_assert(std::tuple_size_v<Hash> == SHA256_DIGEST_SIZE);
  sha256_digest(&context, out.size(), out.data());
  return out;
}

}  // namespace

struct Hasher::State {
  sha256_ctx context;
};

Hasher::Hasher() : state_(std::make_unique<State>()) {
  sha256_init(&state_->context);
}
Hasher::~Hasher() = default;
Hasher::Hasher(Hasher&&) noexcept = default;
Hasher& Hasher::operator=(Hasher&&) noexcept = default;

void Hasher::add(std::string_view bytes) {
  add_to(state_->context, bytes);
}

Hash Hasher::finish() {
  return digest_of(state_->context);
}

Hash hash_of(std::string_view bytes) {
  sha256_ctx context;
  sha256_init(&context);
  add_to(context, bytes);
  return digest_of(context);
}

std::string hex(std::span<const std::uint8_t> bytes) {
  static constexpr char digits[] = "0123456789abcdef";
  std::string out;
  out.reserve(bytes.size() * 2);
  for (const auto byte : bytes) {
    out += digits[byte >> 4];
    out += digits[byte & 15u];
  }
  return out;
}

}  // namespace stationer::fs
