#include "server/terminal/text_file.h"

#include <algorithm>

#include <catch2/catch.hpp>

#include "tests/server/protocol/bytes.h"

using namespace stationer::server;
using namespace std::string_literals;

namespace {

std::string all_lines(std::string_view first, std::string_view second = "") {
  TextLines lines;
  std::string out = lines.feed(first);
  out += lines.feed(second);
  return out + lines.finish();
}

}  // namespace

TEST_CASE("text: CR, LF and CR LF each end a line, once, wherever the pieces part") {
  const std::string mixed = "one\rtwo\nthree\r\nfour\r\rfive\n\nsix\n\rseven";
  const std::string expected = "one\ntwo\nthree\nfour\n\nfive\n\nsix\n\nseven\n";
  stationer::tests::every_cut(
      mixed, [&](auto first, auto second) { CHECK(all_lines(first, second) == expected); });
}

TEST_CASE("text: a last line without an end is a line, and a closed one adds none") {
  CHECK(all_lines("a") == "a\n");
  CHECK(all_lines("a\n") == "a\n");
  CHECK(all_lines("\n") == "\n");
  CHECK(all_lines("") == "");
}

TEST_CASE("text: SUB ends it, as files without an exact length are padded") {
  stationer::tests::every_cut("a\r\nb\x1A\x1A\x1Agarbage\n", [&](auto first, auto second) {
    CHECK(all_lines(first, second) == "a\nb\n");
  });
}

TEST_CASE("invariant 6: a line without end is given in parts, at spaces where there are some") {
  TextLines lines;
  std::string out;
  std::size_t most_held = 0;
  for (int i = 0; i < 20'000; ++i) {
    out += lines.feed("word ");
    const auto given =
        out.size() - static_cast<std::size_t>(std::count(out.begin(), out.end(), '\n'));
    most_held = std::max(most_held, static_cast<std::size_t>(i + 1) * 5 - given);
  }
  out += lines.finish();
  CHECK(most_held <= TextLines::longest_part);
  CHECK(out.find("wo\n") == std::string::npos);
  std::erase(out, '\n');
  CHECK(out.size() == 100'000);

  // Without spaces; whole characters as long as it is UTF-8, and no harm when it is not.
  std::string euros;
  for (int i = 0; i < 5000; ++i) euros += "€";
  std::string cut = all_lines(euros);
  CHECK(cut.find("\xE2\n") == std::string::npos);
  CHECK(cut.find("\x82\n") == std::string::npos);
  std::erase(cut, '\n');
  CHECK(cut == euros);
  std::string trails = all_lines(std::string(50'000, '\x80'));
  CHECK(trails.size() > 50'000);
  std::erase(trails, '\n');
  CHECK(trails.size() == 50'000);
}

TEST_CASE("text: what can be read passes for text, what can't does not") {
  CHECK(looks_like_text(""));
  CHECK(looks_like_text("10 PRINT \"HELLO\"\r20 GOTO 10\r"));
  CHECK(looks_like_text("caf\xC3\xA9, caf\xE9 and caf\x82"));  // UTF-8, 8859-1, CP437
  CHECK(
      looks_like_text("\x1B"
                      "Ebold\x1B"
                      "F and a bell\x07, \b_"));                 // for a printer
  CHECK(looks_like_text("text\x1A"s + std::string(100, '\0')));  // padded
  CHECK_FALSE(looks_like_text("a\0b"s));
  CHECK_FALSE(looks_like_text("\x01\x02\x03\x04"));
  std::string every;
  for (int byte = 1; byte < 256; ++byte) every += static_cast<char>(byte == 0x1A ? 0x19 : byte);
  CHECK_FALSE(looks_like_text(every));
}
