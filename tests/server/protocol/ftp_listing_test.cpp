#include "server/protocol/ftp_listing.h"

#include <catch2/catch.hpp>

using namespace stationer;
using namespace stationer::server;
using namespace std::chrono_literals;

namespace {

// 1994-09-16 05:56:48, as in the examples of RFC 3659 §7.7.
constexpr fs::Time then{std::chrono::milliseconds(779'695'008'000)};

fs::NodeView file() {
  fs::NodeView node;
  node.id = fs::NodeId{0x2A};
  node.name = "hatch.c";
  node.owner = "robin";
  node.klass = "evening";
  node.access = fs::Access().changed("o=rw,c=r").value();
  node.size = 1830;
  node.modified = then;
  node.may_read = true;
  return node;
}

}  // namespace

// POSIX XCU "ls", long format
TEST_CASE("a listing's lines are those that clients know") {
  CHECK(list_line(file(), "hatch.c", then + 24h) ==
        "-rw-r-----   1 robin    evening         1830 Sep 16 05:56 hatch.c");
  CHECK(list_line(file(), "hatch.c", then + 200 * 24h) ==
        "-rw-r-----   1 robin    evening         1830 Sep 16  1994 hatch.c");
  CHECK(list_line(file(), "hatch.c", then - 25h).find("Sep 16  1994") != std::string::npos);
  auto folder = file();
  folder.folder = true;
  folder.owner = folder.klass = "";
  folder.access = fs::Access().changed("o=rw,c=w,e=r").value();
  folder.modified = fs::Time(std::chrono::milliseconds(0));
  CHECK(list_line(folder, "week 1", then) ==
        "drwx-wxr-x   1 nobody   none               0 Jan  1  1970 week 1");
}

// 3659 §7.5, §7.7
TEST_CASE("facts tell of files and folders what one may do with them") {
  FtpFacts facts;
  auto node = file();
  CHECK(facts.of(node, false) == "Type=file;Size=1830;Modify=19940916055648;Perm=r;Unique=2a;");
  node.may_write = true;
  CHECK(facts.of(node, true) == "Type=file;Size=1830;Modify=19940916055648;Perm=adfrw;Unique=2a;");
  node.access = node.access.changed("+k").value();
  CHECK(facts.of(node, true).find("Perm=r;") != std::string::npos);
  node = file();
  node.folder = node.may_write = true;
  CHECK(facts.of(node, true) == "Type=dir;Modify=19940916055648;Perm=cdeflmp;Unique=2a;");
  node.may_read = false;
  CHECK(facts.of(node, false).find("Perm=cemp;") != std::string::npos);
  REQUIRE(facts.choose("perm;"));
  CHECK(facts.of(file(), false) == "Perm=r;");
  REQUIRE(facts.choose(""));
  CHECK(facts.of(file(), false).empty());
  CHECK_FALSE(facts.choose("Type;Size"));
  CHECK_FALSE(facts.choose("Type; Size;"));
  CHECK(facts.chosen().empty());
}

TEST_CASE("patterns fit names as clients' users mean them, and none takes long") {
  CHECK(fits_pattern("tides.bas", "*.bas"));
  CHECK(fits_pattern("tides.bas", "*"));
  CHECK(fits_pattern("TIDES.BAS", "t?des.*"));
  CHECK(fits_pattern("tides.bas", "*i*.*s"));
  CHECK_FALSE(fits_pattern("tides.bas", "*.txt"));
  CHECK_FALSE(fits_pattern("tides", "tides?"));
  CHECK(fits_pattern("", "**"));
  CHECK_FALSE(fits_pattern("", "?"));
  const std::string name(255, 'a');
  std::string pattern;
  for (int i = 0; i < 1000; ++i) pattern += "*a";
  CHECK_FALSE(fits_pattern(name, pattern + "b"));
}

TEST_CASE("options before a path are left out") {
  CHECK(without_options("-la") == "");
  CHECK(without_options("-a -l  docs") == "docs");
  CHECK(without_options("docs -l") == "docs -l");
  CHECK(without_options("") == "");
}
