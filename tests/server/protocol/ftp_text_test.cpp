#include "server/protocol/ftp_text.h"

#include <string>

#include <catch2/catch.hpp>

#include "tests/server/protocol/bytes.h"

using namespace stationer::server;
using namespace stationer::tests;
using namespace std::string_literals;

namespace {

std::string sent(std::string_view first, std::string_view second, LineEnding ending) {
  std::string out;
  FtpTextOut text(ending);
  text.feed(first, out);
  text.feed(second, out);
  text.finish(out);
  FtpTextSize size(ending);
  size.feed(first);
  size.feed(second);
  CHECK(size.size() == out.size());
  return out;
}

std::string taken(std::string_view first, std::string_view second, LineEnding ending) {
  FtpTextIn text(ending);
  std::string out = text.feed(first);
  out += text.feed(second);
  return out + text.finish();
}

}  // namespace

// 959 §3.1.1.1; the last two are by profile.
TEST_CASE("a text of the store gets the line ends of the line, however it is cut") {
  const std::string stored = "\na\r\n\nb\rc\r\r\n\xE9\n\r"s;
  const auto check = [&](LineEnding ending, const std::string& expected) {
    every_cut(stored, [&](std::string_view first, std::string_view second) {
      CHECK(readable(sent(first, second, ending)) == readable(expected));
    });
  };
  check(LineEnding::cr_lf, "\r\na\r\n\r\nb\rc\r\r\n\xE9\r\n\r");
  check(LineEnding::cr, "\ra\r\rb\rc\r\r\xE9\r\r");
  check(LineEnding::lf, "\na\n\nb\rc\r\n\xE9\n\r");
}

TEST_CASE("a text of the line gets the store's line ends, however it is cut") {
  const std::string came = "\r\na\n\rb\r\n\r\nc\r\r\n\xE9\r"s;
  const auto check = [&](LineEnding ending, const std::string& expected) {
    every_cut(came, [&](std::string_view first, std::string_view second) {
      CHECK(readable(taken(first, second, ending)) == readable(expected));
    });
  };
  check(LineEnding::cr_lf, "\na\n\rb\n\nc\r\n\xE9\r");
  check(LineEnding::lf, "\na\n\rb\n\nc\r\n\xE9\r");
  check(LineEnding::cr, "\na\n\nb\n\nc\n\n\xE9\n");
}

// The example of 3659 §4: 112 lines ended by LF, 1830 octets.
TEST_CASE("the size of a text counts its line ends as they travel") {
  std::string stored;
  for (int i = 0; i < 112; ++i) stored += std::string(i < 38 ? 16 : 15, 'x') + "\n";
  REQUIRE(stored.size() == 1830);
  FtpTextSize size(LineEnding::cr_lf);
  size.feed(stored);
  CHECK(size.size() == 1942);
}
