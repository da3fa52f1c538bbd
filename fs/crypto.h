// Password hashes and random bytes. The only place that knows libsodium.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "fs/hash.h"
#include "fs/result.h"

namespace stationer::fs {

// What one password check costs. The default is libsodium's INTERACTIVE, above the minimum of
// 19 MiB and two passes that OWASP's Password Storage Cheat Sheet (2023) gives for Argon2id.
struct PasswordCost {
  unsigned long long passes = 2;
  std::size_t memory = std::size_t{64} << 20;  // bytes
};

// Argon2id version 0x13 (RFC 9106) with one lane and a random salt, in the usual string form
// "$argon2id$v=19$m=…". The password is folded first (fold_password). Fails only for want of
// memory.
Result<std::string> hash_password(std::string_view password, const PasswordCost& cost);

// True when `password`, folded, is the one that `hash` was made of.
bool verify_password(std::string_view hash, std::string_view password);

// True when `hash` was made at another cost, so that it should be made anew at the next sign-on.
bool needs_rehash(std::string_view hash, const PasswordCost& cost);

// Raw Argon2id with one lane, for checks against the outside. `salt` has 16 bytes.
std::array<std::uint8_t, 32> argon2id(std::string_view password,
                                      std::span<const std::uint8_t, 16> salt,
                                      const PasswordCost& cost);

std::uint64_t random_number();
Hash random_hash();  // 32 random bytes

// A pass-phrase for a slip: lower-case letters and digits that no typeface confuses, each drawn
// evenly. 10 characters are 49.5 bits.
std::string random_password(std::size_t length = 10);

// Overwrites the characters before the string is let go.
void wipe(std::string& secret);

}  // namespace stationer::fs
