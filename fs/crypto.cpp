#include "fs/crypto.h"

#include <cstring>
#include <new>
#include <stdexcept>

#include <sodium.h>

#include "fs/text.h"

namespace stationer::fs {
namespace {

void ensure_ready() {
  static const int ready = sodium_init();
  if (ready < 0) throw std::runtime_error("libsodium could not be started");
}

}  // namespace

Result<std::string> hash_password(std::string_view password, const PasswordCost& cost) {
  ensure_ready();
  std::string folded = fold_password(password);
  char out[crypto_pwhash_STRBYTES];
  const int failed = crypto_pwhash_str_alg(out, folded.data(), folded.size(), cost.passes,
                                           cost.memory, crypto_pwhash_ALG_ARGON2ID13);
  wipe(folded);
  if (failed != 0) {
    return Error{Code::busy, "There is not enough memory to handle a password. Try again soon."};
  }
  return std::string(out);
}

bool verify_password(std::string_view hash, std::string_view password) {
  ensure_ready();
  char stored[crypto_pwhash_STRBYTES] = {};
  if (hash.size() >= sizeof stored) return false;
  std::memcpy(stored, hash.data(), hash.size());
  std::string folded = fold_password(password);
  const bool same = crypto_pwhash_str_verify(stored, folded.data(), folded.size()) == 0;
  wipe(folded);
  return same;
}

bool needs_rehash(std::string_view hash, const PasswordCost& cost) {
  ensure_ready();
  const std::string stored(hash);
  return crypto_pwhash_str_needs_rehash(stored.c_str(), cost.passes, cost.memory) != 0;
}

std::array<std::uint8_t, 32> argon2id(std::string_view password,
                                      std::span<const std::uint8_t, 16> salt,
                                      const PasswordCost& cost) {
  ensure_ready();
  std::array<std::uint8_t, 32> out{};
  if (crypto_pwhash(out.data(), out.size(), password.data(), password.size(), salt.data(),
                    cost.passes, cost.memory, crypto_pwhash_ALG_ARGON2ID13) != 0) {
    throw std::bad_alloc();
  }
  return out;
}

std::uint64_t random_number() {
  ensure_ready();
  std::uint64_t out = 0;
  randombytes_buf(&out, sizeof out);
  return out;
}

Hash random_hash() {
  ensure_ready();
  Hash out;
  randombytes_buf(out.data(), out.size());
  return out;
}

std::string random_password(std::size_t length) {
  static constexpr std::string_view alphabet = "23456789abcdefghjkmnpqrstuvwxyz";
  ensure_ready();
  std::string out;
  for (std::size_t i = 0; i < length; ++i) {
    out += alphabet[randombytes_uniform(static_cast<std::uint32_t>(alphabet.size()))];
  }
  return out;
}

void wipe(std::string& secret) {
  sodium_memzero(secret.data(), secret.size());
  secret.clear();
}

}  // namespace stationer::fs
