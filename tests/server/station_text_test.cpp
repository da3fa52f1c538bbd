#include "server/terminal/station_text.h"

#include <catch2/catch.hpp>

using namespace stationer::server;
using namespace std::string_literals;
using stationer::print::Charset;

namespace {

std::string to_station(const Screen& screen, LineEnding ending, const std::string& text) {
  TextToStation whole(screen, ending);
  std::string out = whole.feed(text);
  out += whole.finish();
  for (std::size_t cut = 0; cut <= text.size(); ++cut) {
    TextToStation cut_up(screen, ending);
    std::string joined = cut_up.feed(text.substr(0, cut));
    joined += cut_up.feed(text.substr(cut));
    joined += cut_up.finish();
    CHECK(joined == out);
  }
  return out;
}

std::string from_station(Charset charset, const std::string& bytes) {
  TextFromStation whole(charset);
  std::string out = whole.feed(bytes);
  out += whole.finish();
  for (std::size_t cut = 0; cut <= bytes.size(); ++cut) {
    TextFromStation cut_up(charset);
    std::string joined = cut_up.feed(bytes.substr(0, cut));
    joined += cut_up.feed(bytes.substr(cut));
    joined += cut_up.finish();
    CHECK(joined == out);
  }
  return out;
}

Screen screen_of(Charset charset, bool capitals = false) {
  Screen screen;
  screen.charset = charset;
  screen.capitals = capitals;
  return screen;
}

}  // namespace

TEST_CASE("texts to a station have its line ends, whatever the store's are") {
  const Screen screen = screen_of(Charset::ascii);
  for (const std::string& text : {"a\nb\n\nc\n"s, "a\r\nb\r\n\r\nc\r\n"s, "a\rb\r\rc\r"s}) {
    CHECK(to_station(screen, LineEnding::cr_lf, text) == "a\r\nb\r\n\r\nc\r\n");
    CHECK(to_station(screen, LineEnding::cr, text) == "a\rb\r\rc\r");
    CHECK(to_station(screen, LineEnding::lf, text) == "a\nb\n\nc\n");
  }
  CHECK(to_station(screen, LineEnding::cr, "no end") == "no end");
}

TEST_CASE("texts to a station are in its characters, tabs and form feeds stay, controls don't") {
  CHECK(to_station(screen_of(Charset::cp437), LineEnding::lf, "\u00E9t\u00E9") == "\x82t\x82");
  CHECK(to_station(screen_of(Charset::ascii), LineEnding::lf, "\u00E9t\u00E9") == "ete");
  CHECK(to_station(screen_of(Charset::iso646_de), LineEnding::lf, "\u00E4\u00DF") == "{~");
  CHECK(to_station(screen_of(Charset::ascii, true), LineEnding::lf, "High") == "HIGH");
  CHECK(to_station(screen_of(Charset::utf_8), LineEnding::lf, "\xEF\xBB\xBF\u00E9") == "\u00E9");
  CHECK(to_station(screen_of(Charset::ascii), LineEnding::lf, "a\tb\fc\x1B[1m\x7F") ==
        "a\tb\fc[1m");
}

TEST_CASE("a station's text becomes UTF-8 with line feeds, and ends at SUB") {
  for (const std::string& text : {"a\nb\n\nc"s, "a\r\nb\r\n\r\nc"s, "a\rb\r\rc"s}) {
    CHECK(from_station(Charset::ascii, text) == "a\nb\n\nc");
  }
  CHECK(from_station(Charset::cp437, "\x82t\x82\r\n\x1A\x1Arest") == "\u00E9t\u00E9\n");
  CHECK(from_station(Charset::iso646_de, "{~") == "\u00E4\u00DF");
  CHECK(from_station(Charset::utf_8, "\u00E9\0!"s) == "\u00E9!");
  CHECK(from_station(Charset::utf_8, "\xC3").size() ==
        3);  // half a character is one that is unreadable
}
