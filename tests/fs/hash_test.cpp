#include "fs/hash.h"

#include <string>

#include <catch2/catch.hpp>
#include <openssl/evp.h>

using namespace stationer::fs;

namespace {

// By another library.
std::string reference(const std::string& text) {
  Hash out;
  REQUIRE(EVP_Digest(text.data(), text.size(), out.data(), nullptr, EVP_sha256(), nullptr) == 1);
  return hex(out);
}

}  // namespace

// The examples that NIST publishes with FIPS 180-4: one block, two blocks; the empty message and
// the million of "a" are in its test vectors (CAVP, SHA256ShortMsg; RFC 6234 §8.5 has the latter).
TEST_CASE("content hashes are SHA-256") {
  CHECK(hex(hash_of("")) == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  CHECK(hex(hash_of("abc")) == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  CHECK(hex(hash_of("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq")) ==
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
  CHECK(hex(hash_of(std::string(1'000'000, 'a'))) ==
        "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

TEST_CASE("every length around a block is hashed as by another library") {
  std::string text;
  for (int length = 0; length < 260; ++length) {
    CHECK(hex(hash_of(text)) == reference(text));
    text += static_cast<char>(length * 7);
  }
}

TEST_CASE("a hash does not depend on how the bytes come") {
  const std::string text(100'000, 'q');
  for (const std::size_t step : {1u, 7u, 63u, 64u, 4096u, 99'999u}) {
    Hasher hasher;
    for (std::size_t at = 0; at < text.size(); at += step) {
      hasher.add(std::string_view(text).substr(at, step));
    }
    CHECK(hasher.finish() == hash_of(text));
  }
}
