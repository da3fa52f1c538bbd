#include "print/overstrike.h"

#include <string>
#include <string_view>
#include <vector>

#include <utf8proc.h>

using namespace stationer::print;

namespace {

Place struck(std::u32string_view characters) {
  Place place;
  for (const char32_t character : characters) place.strike(character);
  return place;
}

std::u32string marks(const Place& place) {
  const Place::Impression impression = place.impression();
  return {impression.marks.data(), impression.mark_count};
}

std::u32string normalised(char32_t letter, char32_t mark) {
  std::vector<utf8proc_int32_t> buffer = {static_cast<utf8proc_int32_t>(letter),
                                          static_cast<utf8proc_int32_t>(mark)};
  const utf8proc_ssize_t size = utf8proc_normalize_utf32(buffer.data(), 2, UTF8PROC_COMPOSE);
  REQUIRE(size > 0);
  return {buffer.begin(), buffer.begin() + size};
}

}  // namespace

TEST_CASE("the same character again is bold") {
  CHECK_FALSE(struck(U"c").bold());
  CHECK(struck(U"cc").bold());
  CHECK(struck(U"cccc").bold());
  CHECK(struck(U"cc").impression().text == U'c');
  CHECK(marks(struck(U"cc")).empty());
}

TEST_CASE("an underscore underlines in either order") {
  for (const std::u32string_view order : {U"_c", U"c_"}) {
    const Place place = struck(order);
    CHECK(place.underlined());
    CHECK_FALSE(place.bold());
    CHECK(place.impression().text == U'c');
    CHECK(marks(place).empty());
  }
  CHECK(struck(U"_cc").bold());
  CHECK(struck(U"cc_").underlined());
}

TEST_CASE("an underscore by itself is text, and twice it is bold") {
  CHECK(struck(U"_").impression().text == U'_');
  CHECK_FALSE(struck(U"_").underlined());
  CHECK(struck(U"_").is_underscore());
  CHECK(struck(U"__").bold());
  CHECK_FALSE(struck(U"__").underlined());
  CHECK_FALSE(struck(U"__").is_underscore());
}

TEST_CASE("a letter and an accent are one character in either order") {
  const std::pair<std::u32string_view, char32_t> cases[] = {
      {U"e'", U'é'}, {U"'e", U'é'},      {U"o\"", U'ö'},    {U"n~", U'ñ'},
      {U"c,", U'ç'}, {U"a`", U'à'},      {U"u^", U'û'},     {U"=/", U'≠'},
      {U"O/", U'Ø'}, {U"a\u030A", U'å'}, {U"S\u02C7", U'Š'}};
  for (const auto& [both, made] : cases) {
    const Place place = struck(both);
    CHECK(place.impression().text == made);
    CHECK(marks(place).empty());
  }
  CHECK(composed(U'e', U'x') == 0);
  CHECK(composed(U'\'', U'\'') == 0);
}

TEST_CASE("accented letters are Unicode's own compositions") {
  const std::u32string letters = U"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz=<>";
  for (char32_t mark = 0x300; mark <= 0x36F; ++mark) {
    for (const char32_t letter : letters) {
      const char32_t made = composed(letter, mark);
      CAPTURE(static_cast<unsigned>(letter), static_cast<unsigned>(mark));
      if (made != 0) CHECK(normalised(letter, mark) == std::u32string(1, made));
      // All of ISO 8859-1 that has a decomposition can be made.
      const std::u32string one = normalised(letter, mark);
      if (one.size() == 1 && one[0] <= 0xFF) CHECK(made == one[0]);
    }
  }
}

TEST_CASE("ASCII stand-ins make what the combining mark makes") {
  const std::pair<char32_t, char32_t> pairs[] = {{U'\'', 0x301}, {U'´', 0x301}, {U'`', 0x300},
                                                 {U'^', 0x302},  {U'~', 0x303}, {U'"', 0x308},
                                                 {U'¨', 0x308},  {U',', 0x327}, {U'¸', 0x327}};
  for (const auto& [stand_in, mark] : pairs) {
    for (char32_t letter = U'A'; letter <= U'z'; ++letter) {
      CHECK(composed(letter, stand_in) == composed(letter, mark));
    }
  }
}

TEST_CASE("a stroke over a character leaves that character the text") {
  CHECK(struck(U"0/").impression().text == U'0');
  CHECK(marks(struck(U"0/")) == U"/");
  CHECK(struck(U"/0").impression().text == U'0');
  CHECK(struck(U"x-").impression().text == U'x');
  CHECK(struck(U"x\u0301").impression().text == U'x');
  CHECK(marks(struck(U"x\u0301")) == U"\u0301");
}

TEST_CASE("otherwise the last one struck is the text and the others are seen") {
  CHECK(struck(U"MW").impression().text == U'W');
  CHECK(marks(struck(U"MW")) == U"M");
  CHECK(struck(U"XOH").impression().text == U'H');
  CHECK(marks(struck(U"XOH")) == U"XO");
  CHECK(struck(U"-/").impression().text == U'/');
  // Struck again, an earlier one is the last.
  CHECK(struck(U"ABA").impression().text == U'A');
  CHECK(marks(struck(U"ABA")) == U"B");
  CHECK(struck(U"ABA").bold());
  CHECK(marks(struck(U"ABCA")) == U"BC");
}

TEST_CASE("a place remembers four characters however many are struck") {
  Place place;
  for (char32_t character = U'A'; character < U'A' + 1000; ++character) place.strike(character);
  CHECK(place.impression().text == U'A' + 999);
  CHECK(marks(place) == std::u32string{U'A' + 996, U'A' + 997, U'A' + 998});
  CHECK(sizeof(Place) <= 24);
}
