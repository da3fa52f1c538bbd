#include "server/protocol/line_editor.h"

#include <random>

#include <catch2/catch.hpp>

#include "tests/server/protocol/bytes.h"

using namespace stationer::server;
using namespace stationer::tests;
using namespace std::string_literals;
using stationer::print::Charset;
using Echo = LineEditor::Echo;
using Mode = LineEditor::Mode;

namespace {

std::string readable_outcome(const LineEditor::Outcome& outcome) {
  if (const auto* line = std::get_if<LineEditor::Line>(&outcome)) {
    return "[" + line->text + (line->continues ? "..." : "") + "]";
  }
  if (const auto* too_long = std::get_if<LineEditor::TooLong>(&outcome)) {
    return "[over " + std::to_string(too_long->longest) + "]";
  }
  return "[interrupt]";
}

struct Station {
  explicit Station(const Screen& shown = {}, LineEditor::Keyboard keyboard = {})
      : editor(shown, keyboard) {}

  Station& asked(LineEditor::Question question) {
    screen += editor.ask(std::move(question));
    return *this;
  }
  // Types all of it, taking outcomes as they come.
  Station& types(std::string_view bytes) {
    while (!bytes.empty()) {
      const auto step = editor.feed(bytes);
      REQUIRE(step.used > 0);
      bytes.remove_prefix(step.used);
      screen += step.echo;
      if (step.outcome) lines += readable_outcome(*step.outcome);
    }
    return *this;
  }

  LineEditor editor;
  std::string screen;
  std::string lines;
};

LineEditor::Question with(Echo echo, std::size_t longest = 255, Mode mode = Mode::answer) {
  return {"", echo, mode, longest, {}};
}

}  // namespace

TEST_CASE("editor: any Enter ends a line, once") {
  for (const auto& enter : {"\r"s, "\n"s, "\r\n"s, "\r\0"s}) {
    Station station;
    station.types("load" + enter + "run" + enter);
    CHECK(station.lines == "[load][run]");
    CHECK(station.screen == "load\r\nrun\r\n");
  }
  CHECK(Station().types("\r\r\n\n").lines == "[][][]");
}

TEST_CASE("editor: BS and DEL erase one character, and no more than there are") {
  CHECK(Station()
            .types("ab\x08\x7F\x7F\x08"
                   "c\r")
            .lines == "[c]");
  CHECK(Station().types("ab\x08").screen == "ab\b \b");
  CHECK(Station().types("\x7F\x08").screen.empty());
}

TEST_CASE("editor: Ctrl-U and Ctrl-X drop the line") {
  for (const char key : {'\x15', '\x18'}) {
    Station station;
    station.asked({"> "}).types("abc"s + key + "d\r");
    CHECK(station.lines == "[d]");
    CHECK(station.screen == "> abc\b \b\b \b\b \bd\r\n");
  }
  CHECK(Station().types("\x15").screen.empty());
  // A line that fills more than a row can't be wiped by going back: it starts again below.
  Station narrow({Charset::ascii, false, 20});
  narrow.asked({"> "}).types("0123456789012345678\x15z\r");
  CHECK(narrow.screen == "> 0123456789012345678\r\n> z\r\n");
  CHECK(narrow.lines == "[z]");
}

TEST_CASE("editor: Ctrl-R shows prompt and line again") {
  CHECK(Station().asked({"Name: "}).types("rob\x12in\r").screen == "Name: rob\r\nName: robin\r\n");
  CHECK(Station().asked({"Word: ", Echo::stars}).types("abc\x12").screen ==
        "Word: ***\r\nWord: ***");
  CHECK(Station().asked({"Word: ", Echo::hidden}).types("abc\x12").screen == "Word: \r\nWord: ");
}

TEST_CASE("editor: Ctrl-C drops the line and says so") {
  Station station;
  CHECK(station.types("abc\x03").screen == "abc^C\r\n");
  CHECK(station.types("d\r").lines == "[interrupt][d]");
}

TEST_CASE("editor: paper shows what was erased and never goes back") {
  Station station({}, {.seven_bits = false, .paper = true});
  station.asked({"> "}).types(
      "abx\x7F"
      "c\x7F\x7F"
      "d\x15"
      "e\r");
  CHECK(station.lines == "[e]");
  CHECK(station.screen == "> abx<c<<d <<\r\n> e\r\n");
  CHECK(station.screen.find('\b') == std::string::npos);
}

TEST_CASE("editor: hidden, starred and unechoed typing") {
  CHECK(Station()
            .asked(with(Echo::hidden))
            .types("se\x7F"
                   "cret\x15word\r")
            .screen == "\r\n");
  CHECK(Station().asked(with(Echo::stars)).types("ab\x7F\r").screen == "**\b \b\r\n");
  CHECK(Station().asked(with(Echo::stars)).types("ab\x15").screen == "**\b \b\b \b");
  CHECK(Station().asked(with(Echo::none)).types("ab\x7F\x12 c\x15\x03z\r").screen.empty());
  CHECK(Station().asked(with(Echo::none)).types("ab\x7F\r").lines == "[a]");
}

TEST_CASE("editor: a password typed ahead is not shown by the question before it") {
  LineEditor editor({}, {});
  editor.ask({"Name: "});
  const std::string typed = "robin\r\nsecret\r\n";
  auto step = editor.feed(typed);
  CHECK(step.echo == "robin\r\n");
  CHECK(std::get<LineEditor::Line>(*step.outcome).text == "robin");
  editor.ask({"Password: ", Echo::hidden});
  step = editor.feed(std::string_view(typed).substr(step.used));
  CHECK(step.echo == "\r\n");
  CHECK(std::get<LineEditor::Line>(*step.outcome).text == "secret");
}

TEST_CASE("editor: who echoes may change in the middle of a line") {
  Station station;
  station.asked({"> ", Echo::none}).types("ab");
  station.editor.set_echo(Echo::full);
  station.types(
      "c\x7F"
      "d\r");
  CHECK(station.screen == "> c\b \bd\r\n");
  CHECK(station.lines == "[abd]");
}

TEST_CASE("editor: cursor and function keys leave nothing behind") {
  // ECMA-48 §5.4: CSI P* I* F; SS3 and a character; ESC and a final; ESC I* F.
  for (const char* key : {"\x1B[A", "\x1B[1;5C", "\x1B[15~", "\x1BOP",
                          "\x1B"
                          "A",
                          "\x1B(B", "\x1B[?1;2c", "\x1B\x1B[A", "\x1BNx"}) {
    CHECK(Station().types("a"s + key + "b\r").lines == "[ab]");
    CHECK(Station().types("a"s + key + "b").screen == "ab");
  }
  // A sequence broken off does not swallow Enter, nor does the ESC key alone.
  CHECK(Station().types("a\x1B\r").lines == "[a]");
  CHECK(Station().types("a\x1B[1;\r").lines == "[a]");
  CHECK(Station()
            .types("a\x1B[1\x7F"
                   "b\r")
            .lines == "[b]");
  // CSI as one byte is one only where the set has it.
  CHECK(Station({Charset::iso_8859_1})
            .types("a\x9B"
                   "Ab\r")
            .lines == "[ab]");
  CHECK(Station({Charset::cp437})
            .types("\x9B"
                   "A\r")
            .lines == "[¢A]");
  // Nothing is swallowed for ever.
  const std::string digits(100, '1');
  CHECK(Station().types("\x1B[" + digits + "\r").lines == "[" + digits.substr(31) + "]");
}

TEST_CASE("editor: other control characters are ignored, a tab in an answer is a space") {
  std::string all;
  for (char c = 1; c < 0x20; ++c) {
    const bool key = c == '\x03' || c == '\b' || c == '\n' || c == '\r' || c == '\x12' ||
                     c == '\x15' || c == '\x18' || c == '\x1B' || c == '\t';
    if (!key) all += c;
  }
  CHECK(Station().types("a" + all + "\0b\tc\r"s).lines == "[ab c]");
  CHECK(Station().types("a" + all + "\tc").screen == "a c");
}

TEST_CASE("editor: characters are the station's, and one erase takes one") {
  Station latin({Charset::iso_8859_1});
  CHECK(latin.types("caf\xE9\r").lines == "[café]");
  CHECK(latin.screen == "caf\xE9\r\n");
  CHECK(Station({Charset::cp437}).types("\x84\r").lines == "[ä]");
  CHECK(Station({Charset::iso646_de}).types("{[\r").lines == "[äÄ]");
  Station utf_8({Charset::utf_8});
  CHECK(utf_8
            .types("né\x7F"
                   "e\r")
            .lines == "[ne]");
  CHECK(utf_8.screen == "né\b \be\r\n");
  CHECK(Station({Charset::utf_8}).types("日\x7F").screen == "日\b \b\b \b");  // two columns wide
  // A combining mark goes with its letter.
  Station marks({Charset::utf_8});
  CHECK(marks.types("xe\xCC\x81\x7F\r").lines == "[x]");
  CHECK(marks.screen == "xe\xCC\x81\b \b\r\n");
  CHECK(Station({Charset::utf_8}).asked(with(Echo::stars)).types("e\xCC\x81\x7F").screen ==
        "**\b \b\b \b");
}

TEST_CASE("editor: what the station's set lacks is refused with BEL") {
  Station ascii;
  CHECK(ascii
            .types("a\xE9"
                   "b\r")
            .lines == "[ab]");
  CHECK(ascii.screen ==
        "a\x07"
        "b\r\n");
  CHECK(Station({Charset::utf_8})
            .types("a\xC3"
                   "b\xFF\r")
            .lines == "[ab]");
  // U+202E would turn round the text after it.
  CHECK(Station({Charset::utf_8})
            .types("a\xE2\x80\xAE"
                   "b\r")
            .lines == "[ab]");
}

TEST_CASE("editor: bit 7 as parity") {
  // Even parity: 'A' 41 goes as it is, 'C' 43 as C3, CR 0D as 8D.
  CHECK(Station({}, {.seven_bits = true, .paper = false}).types("A\xC3\x8D").lines == "[AC]");
}

TEST_CASE("editor: a station without lower case is shown capitals") {
  Station station({Charset::ascii, true});
  CHECK(station.asked({"Name: "}).types("robin\r").screen == "NAME: ROBIN\r\n");
  CHECK(station.lines == "[robin]");
}

TEST_CASE("invariant 6: a line without end is refused, with BEL once") {
  Station station;
  station.asked(with(Echo::full, 80)).types(std::string(10'000, 'x') + "\r");
  CHECK(station.lines == "[over 80]");
  CHECK(station.screen == std::string(80, 'x') + "\x07\r\n");
  // The next line is a new one.
  CHECK(station.types("y\r").lines == "[over 80][y]");
  // A member who erases has noticed: the line is as it stands on the screen.
  Station noticed;
  noticed.asked(with(Echo::full, 3)).types("abcde\x7F\r");
  CHECK(noticed.lines == "[ab]");
  CHECK(noticed.screen == "abc\x07\b \b\r\n");
  CHECK(Station().asked(with(Echo::full, 3)).types("abc\r").lines == "[abc]");
  CHECK(Station().asked(with(Echo::full, 3)).types("abcd\x15z\r").lines == "[z]");
  CHECK(Station().asked(with(Echo::full, 0)).types("a\r").lines == "[a]");
}

TEST_CASE("editor: typing a file in keeps tabs and long lines") {
  Station station;
  station.asked(with(Echo::full, 4, Mode::text)).types("10\tX\r\n\r\nabcdefghij\r\n.\r\n");
  CHECK(station.lines == "[10\tX][][abcd...][efgh...][ij][.]");
  CHECK(station.screen == "10\tX\r\n\r\nabcdefghij\r\n.\r\n");
  // Erasing a tab shows the line again: only the terminal knows how far it had jumped.
  CHECK(Station()
            .asked(with(Echo::full, 80, Mode::text))
            .types("a\t\x7F"
                   "b")
            .screen == "a\t\r\nab");
  CHECK(Station()
            .asked(with(Echo::full, 80, Mode::text))
            .types("a\t\x15"
                   "b")
            .screen == "a\t\r\nb");
}

TEST_CASE("editor: every byte is survived in every set and every way to echo") {
  for (const auto& entry : stationer::print::charsets()) {
    for (const Echo echo : {Echo::full, Echo::stars, Echo::hidden, Echo::none}) {
      for (int byte = 0; byte < 256; ++byte) {
        Station station({entry.charset});
        station.asked(with(echo)).types(std::string(1, static_cast<char>(byte)) + "\r\r");
        // Enter gets through whatever came before it.
        CAPTURE(entry.name, byte, station.lines);
        CHECK(station.lines.size() >= 2);
        CHECK(station.lines.back() == ']');
      }
    }
  }
}

TEST_CASE("editor: every cut of the input gives the same lines and echo") {
  const std::string input =
      "lo\x08oad\x1B[A prog\r\nné\xE2\x82\xAC\x7F\r\0x\x15y\x12\n\x03\xC3z\x1BOQ\t0123456789abc\r"s;
  for (const Mode mode : {Mode::answer, Mode::text}) {
    for (const Echo echo : {Echo::full, Echo::stars}) {
      Station whole({Charset::utf_8});
      whole.asked(with(echo, 10, mode)).types(input);
      every_cut(input, [&](std::string_view first, std::string_view second) {
        Station cut({Charset::utf_8});
        cut.asked(with(echo, 10, mode)).types(first).types(second);
        REQUIRE(cut.lines == whole.lines);
        REQUIRE(cut.screen == whole.screen);
      });
    }
  }
}

// What a simple screen shows after an echo: BS moves back, anything else is put down.
TEST_CASE("editor: the screen always shows the line as it stands") {
  const unsigned seed = std::random_device{}();
  CAPTURE(seed);
  std::mt19937 random(seed);
  for (int round = 0; round < 1000; ++round) {
    Station station({Charset::ascii, false, 1000});
    station.asked({"> ", Echo::full, Mode::answer, 20});
    for (int i = 0; i < 60; ++i) {
      constexpr std::string_view keys = "abcdefgh \x08\x7F\x15\x18\x12\x1B[A";
      const char key = keys[random() % keys.size()];
      station.types({&key, 1});
    }
    std::string row;
    std::size_t column = 0;
    for (const char c : station.screen) {
      if (c == '\b') {
        REQUIRE(column > 0);
        --column;
      } else if (c == '\r' || c == '\n') {
        row.clear();
        column = 0;
      } else if (c != '\x07') {
        row.resize(std::max(row.size(), column + 1), ' ');
        row[column++] = c;
      }
    }
    row.resize(column);
    const bool full = station.screen.find('\x07') != std::string::npos;
    station.types("\x1B\r");
    CAPTURE(readable(station.screen));
    if (!full || station.lines != "[over 20]") REQUIRE("[" + row.substr(2) + "]" == station.lines);
  }
}
