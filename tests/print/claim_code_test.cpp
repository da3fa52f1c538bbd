#include "print/claim_code.h"

#include <set>

#include <catch2/catch.hpp>

using namespace stationer::print;

TEST_CASE(
    "each printout has a code of its own, of what every keyboard has, and none tells another") {
  std::set<std::string> codes;
  for (std::uint32_t job = 1; job <= 2000; ++job) {
    const std::string code = claim_code("a secret", job);
    REQUIRE(code.size() == 8);
    REQUIRE(code.find_first_not_of("abcdefghjkmnpqrstuvwxyz23456789") == std::string::npos);
    codes.insert(code);
  }
  CHECK(codes.size() == 2000);
  CHECK(claim_code("a secret", 7) == claim_code("a secret", 7));
  CHECK(claim_code("a secret", 7) != claim_code("another", 7));
}

TEST_CASE("a code is understood as it is shown, in capitals, and with anything in between") {
  const std::string code = claim_code("a secret", 7);
  const std::string shown = shown_claim_code(code);
  CHECK(shown.size() == 9);
  CHECK(shown[4] == ' ');
  CHECK(typed_claim_code(shown) == code);
  CHECK(typed_claim_code("K7FM-2q9x.") == "k7fm2q9x");
  CHECK(typed_claim_code("") == "");
}
