#include "fs/node_name.h"

#include <set>
#include <string>
#include <vector>

#include <catch2/catch.hpp>

using namespace stationer::fs;

TEST_CASE("ordinary names are taken") {
  for (const std::string name :
       {"a", "readme.txt", "Letter to the bank.doc", ".profile", "a+b.c", "100%", "sch\u00f6n",
        "archive.tar.gz", "console.txt", "lpt10", "com0"}) {
    INFO(name);
    CHECK(check_name(name));
  }
  CHECK(check_name(std::string(255, 'x')));
}

TEST_CASE("names that can hurt are refused with a reason") {
  const std::vector<std::string> bad = {"",         ".",
                                        "..",       "a/b",
                                        "/etc",     "..\\x",
                                        "C:x",      std::string("a\0b", 3),
                                        "a\x01",    "a\x1f",
                                        "a\x7f",    std::string(256, 'x'),
                                        "\xC0\xAE", "\xED\xA0\x80",
                                        "NUL",      "con.txt",
                                        "LPT1.x",   "lpt9",
                                        "x.",       "x ",
                                        " x",       "-rf",
                                        "a\u202eb", "a\u200bb",
                                        "a\u0085",  "what?",
                                        "*",        "a\"b",
                                        "<",        ">",
                                        "|"};
  for (const auto& name : bad) {
    INFO(name);
    const auto checked = check_name(name);
    REQUIRE_FALSE(checked);
    CHECK(checked.error().code == Code::bad_name);
    CHECK(checked.error().message.size() > 10);
  }
}

TEST_CASE("every control character is refused") {
  for (int c = 0; c < 0x20; ++c) CHECK_FALSE(check_name(std::string("a") + static_cast<char>(c)));
}

// FAT specification 1.03: which names are short names as they stand.
TEST_CASE("short names are known") {
  CHECK(is_short_name("README.TXT"));
  CHECK(is_short_name("readme.txt"));
  CHECK(is_short_name("A"));
  CHECK(is_short_name("A_B~1.C"));
  CHECK_FALSE(is_short_name("toolongname"));
  CHECK_FALSE(is_short_name("a.html"));
  CHECK_FALSE(is_short_name("a b"));
  CHECK_FALSE(is_short_name("a.b.c"));
  CHECK_FALSE(is_short_name("a+b"));
  CHECK_FALSE(is_short_name("sch\u00f6n"));
}

// FAT specification 1.03, "The Basis-Name Generation Algorithm" and "The Numeric-Tail Generation
// Algorithm"; computed in this order in one folder.
TEST_CASE("aliases follow the FAT rules") {
  std::set<std::string> taken;
  const auto next = [&](const std::string& name) {
    std::string alias = short_alias(
        name, [&](std::string_view each) { return taken.count(std::string(each)) != 0; });
    taken.insert(alias);
    return alias;
  };
  CHECK(next("readme.txt") == "README.TXT");
  CHECK(next("Letter to the bank.doc") == "LETTER~1.DOC");
  CHECK(next("Letter to the cat.doc") == "LETTER~2.DOC");
  CHECK(next("LongFileName.html") == "LONGFI~1.HTM");
  CHECK(next("archive.tar.gz") == "ARCHIV~1.GZ");
  CHECK(next("file name.txt") == "FILENA~1.TXT");
  CHECK(next("a+b.c") == "A_B~1.C");
  CHECK(next(".profile") == "PROFIL~1");
}

TEST_CASE("aliases stay within 8.3 and apart, however many there are") {
  std::set<std::string> taken;
  for (int i = 0; i < 1200; ++i) {
    const std::string alias = short_alias("a rather long name.text", [&](std::string_view each) {
      return taken.count(std::string(each)) != 0;
    });
    CHECK(is_short_name(alias));
    CHECK(taken.insert(alias).second);
  }
  CHECK(taken.count("ARATHE~1.TEX") == 1);
  CHECK(taken.count("ARATH~10.TEX") == 1);
  CHECK(taken.count("ARA~1000.TEX") == 1);
}

TEST_CASE("a name of characters that no short name can hold still gets an alias") {
  CHECK(is_short_name(short_alias("\u4e16\u754c", [](std::string_view) { return false; })));
  CHECK(is_short_name(short_alias("...", [](std::string_view) { return false; })));
}
