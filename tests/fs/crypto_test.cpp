#include "fs/crypto.h"

#include <array>
#include <cstring>
#include <set>
#include <string>

#include <argon2.h>
#include <catch2/catch.hpp>

using namespace stationer::fs;

namespace {

std::array<std::uint8_t, 32> reference(std::string_view password, std::string_view salt,
                                       std::uint32_t passes, std::uint32_t kib) {
  std::array<std::uint8_t, 32> out{};
  REQUIRE(argon2id_hash_raw(passes, kib, 1, password.data(), password.size(), salt.data(),
                            salt.size(), out.data(), out.size()) == ARGON2_OK);
  return out;
}

std::array<std::uint8_t, 32> ours(std::string_view password, std::string_view salt,
                                  const PasswordCost& cost) {
  std::array<std::uint8_t, 16> bytes{};
  std::memcpy(bytes.data(), salt.data(), bytes.size());
  return argon2id(password, bytes, cost);
}

}  // namespace

// RFC 9106 §5.3, the Argon2id vector. libsodium has one lane and neither secret nor associated
// data, so it can't run the vector itself: the reference library must give the RFC's tag, and
// libsodium the reference library's with one lane.
TEST_CASE("invariant 8: Argon2id is the one of RFC 9106") {
  std::array<std::uint8_t, 32> password, tag{};
  std::array<std::uint8_t, 16> salt;
  std::array<std::uint8_t, 8> secret;
  std::array<std::uint8_t, 12> data;
  password.fill(1);
  salt.fill(2);
  secret.fill(3);
  data.fill(4);
  argon2_context context{};
  context.out = tag.data();
  context.outlen = tag.size();
  context.pwd = password.data();
  context.pwdlen = password.size();
  context.salt = salt.data();
  context.saltlen = salt.size();
  context.secret = secret.data();
  context.secretlen = secret.size();
  context.ad = data.data();
  context.adlen = data.size();
  context.t_cost = 3;
  context.m_cost = 32;
  context.lanes = 4;
  context.threads = 1;
  context.version = ARGON2_VERSION_13;
  REQUIRE(argon2id_ctx(&context) == ARGON2_OK);
  CHECK(hex(tag) == "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659");

  const std::string salt16 = "0123456789abcdef";
  CHECK(ours("password", salt16, {1, 8192}) == reference("password", salt16, 1, 8));
  CHECK(ours("password", salt16, {2, 65536u * 1024}) == reference("password", salt16, 2, 65536));
  CHECK(ours("", salt16, {3, 32u * 1024}) == reference("", salt16, 3, 32));
}

// Computed with libsodium 1.0.18; the second also with the argon2 command of Debian 12.
TEST_CASE("Argon2id has not changed") {
  CHECK(hex(ours("password", "0123456789abcdef", {1, 8192})) ==
        "771338d819573c67116b39e1788ae8e04b0eb0cf9dfbbfe2e6d746cf3e464fc7");
  CHECK(hex(ours("password", "0123456789abcdef", {2, 67108864})) ==
        "efefea1217a1d74f60760e0cddef0e1ddcc58d048f2a50ba3606d5bf0a68af9f");
}

TEST_CASE("invariant 8: passwords are kept as Argon2id strings and compared folded") {
  const PasswordCost cheap{1, 8192};
  const std::string hash = *hash_password("Mill-Race 7", cheap);
  CHECK(hash.starts_with("$argon2id$v=19$m=8,t=1,p=1$"));
  CHECK(hash.find("ill-") == std::string::npos);
  CHECK(verify_password(hash, "Mill-Race 7"));
  CHECK(verify_password(hash, "MILL-RACE 7"));
  CHECK(verify_password(hash, " mill-race 7 "));
  CHECK_FALSE(verify_password(hash, "mill-race 8"));
  CHECK_FALSE(verify_password(hash, ""));
  CHECK_FALSE(verify_password("", ""));
  CHECK_FALSE(verify_password(std::string(500, 'x'), "x"));
  CHECK(*hash_password("Mill-Race 7", cheap) != hash);  // salted
  CHECK_FALSE(needs_rehash(hash, cheap));
  CHECK(needs_rehash(hash, {2, 16384}));
}

TEST_CASE("the default cost is at least what is advised") {
  // OWASP Password Storage Cheat Sheet (2023): Argon2id with 19 MiB and 2 passes at the least.
  CHECK(PasswordCost().passes >= 2);
  CHECK(PasswordCost().memory >= 19u * 1024 * 1024);
}

TEST_CASE("made-up passwords are unlike and hold no letters that look alike") {
  std::set<std::string> seen;
  for (int i = 0; i < 500; ++i) {
    const std::string password = random_password();
    CHECK(password.size() == 10);
    CHECK(password.find_first_of("01ilo") == std::string::npos);
    CHECK(seen.insert(password).second);
  }
}
