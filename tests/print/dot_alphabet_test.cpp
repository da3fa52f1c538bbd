#include "print/dot_alphabet.h"

#include <map>

#include "print/charset.h"
#include "tests/support/catch.h"

using namespace stationer::print;

namespace {

std::vector<std::string> picture(char32_t character) {
  std::vector<std::string> out;
  const DotRows rows = drawn_dots(character).value();
  for (const std::uint16_t row : rows) {
    std::string line;
    for (unsigned column = 0; column < dot_columns; ++column) {
      line += (row & 0x800 >> column) != 0 ? 'O' : '.';
    }
    out.push_back(line);
  }
  return out;
}

}  // namespace

TEST_CASE("all of ASCII is drawn, no two characters alike, no two dots side by side") {
  std::map<DotRows, char32_t> seen;
  for (char32_t character = U'!'; character <= U'~'; ++character) {
    CAPTURE(static_cast<char>(character));
    const auto rows = drawn_dots(character);
    REQUIRE(rows.has_value());
    for (const std::uint16_t row : *rows) CHECK((row & row >> 1) == 0);
    CHECK(seen.emplace(*rows, character).second);
  }
}

TEST_CASE("letters and signs of the national sets are drawn") {
  for (const CharsetName& one : charsets()) {
    // The sets of seven bits, which have nothing above.
    Decoder decoder(one.charset);
    if (one.charset == Charset::utf_8 || decoder.put(0xC1).at[0] != replacement_character) continue;
    for (unsigned byte = 0x21; byte < 0x7F; ++byte) {
      const char32_t character = Decoder(one.charset).put(static_cast<std::uint8_t>(byte)).at[0];
      if (character == replacement_character || character == U' ') continue;
      CAPTURE(one.name, byte, static_cast<unsigned>(character));
      CHECK(drawn_dots(character).has_value());
    }
  }
}

TEST_CASE("accents stand on letters") {
  CHECK(picture(U'e') == std::vector<std::string>{"............", "............", "...O.O.O....",
                                                  ".O.......O..", ".O.O.O.O.O..", ".O..........",
                                                  "...O.O.O....", "............", "............"});
  CHECK(picture(U'\u00E9') ==
        std::vector<std::string>{".......O....", ".....O......", "...O.O.O....", ".O.......O..",
                                 ".O.O.O.O.O..", ".O..........", "...O.O.O....", "............",
                                 "............"});
  // A capital makes room.
  CHECK(picture(U'\u00D6') ==
        std::vector<std::string>{"...O...O....", "............", "...O.O.O....", ".O.......O..",
                                 ".O.......O..", ".O.......O..", "...O.O.O....", "............",
                                 "............"});
}

TEST_CASE("what isn't drawn is nothing") {
  CHECK_FALSE(drawn_dots(U'\u2500').has_value());
  CHECK_FALSE(drawn_dots(U'\u6F22').has_value());
  CHECK_FALSE(drawn_dots(0).has_value());
}
