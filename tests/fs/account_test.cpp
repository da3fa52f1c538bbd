#include "fs/account.h"

#include <string>

#include <catch2/catch.hpp>

using namespace stationer::fs;

TEST_CASE("account names are what every keyboard can type") {
  CHECK(*account_name("Robin") == "robin");
  CHECK(*account_name("WREN2") == "wren2");
  CHECK(*account_name("a.b-c_d") == "a.b-c_d");
  for (const std::string bad : {"", "guest", "GUEST", "a b", "../x", "-x", ".x", "na\u00efve",
                                "con", "sixteen-is-enough", "a/b", "x."}) {
    INFO(bad);
    const auto name = account_name(bad);
    REQUIRE_FALSE(name);
    CHECK(name.error().code == Code::bad_name);
  }
}

// NIST SP 800-63B §5.1.1: at least 8 characters, at least 64 accepted, no rules of composition.
TEST_CASE("new passwords need length and nothing else") {
  CHECK(check_new_password("millrace", "robin"));
  CHECK(check_new_password(std::string(64, 'x'), "robin"));
  CHECK(check_new_password("\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9\u00e9", "robin"));
  CHECK_FALSE(check_new_password("short12", "robin"));
  CHECK_FALSE(check_new_password("   short   ", "robin"));  // spaces around do not count
  CHECK_FALSE(check_new_password("KINGFISHER", "kingfisher"));
  CHECK_FALSE(check_new_password(std::string(1000, 'x'), "robin"));
  CHECK_FALSE(check_new_password("\xff\xfe\xff\xfe\xff\xfe\xff\xfe", "robin"));
}

TEST_CASE("lines for people hold no control characters") {
  CHECK(check_line("Tidewrack Mill", 60, "The name"));
  CHECK_FALSE(check_line("bell\x07", 60, "The name"));
  CHECK_FALSE(check_line("two\nlines", 60, "The name"));
  CHECK_FALSE(check_line(std::string(61, 'x'), 60, "The name"));
  CHECK_FALSE(check_line("\xff", 60, "The name"));
}
