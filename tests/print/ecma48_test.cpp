#include "print/ecma48.h"

#include <random>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "tests/print/pages.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;
using namespace std::string_literals;

namespace {

struct Result {
  std::vector<std::string> shown;  // by page
  std::vector<std::string> text;
  JobReport report;
  fs::Status status;
};

PlainTextRules as_the_standard_has_it() {
  PlainTextRules rules;
  rules.charset = Charset::ascii;
  rules.feed_returns = false;
  return rules;
}

// On a form of 20 columns and 6 lines: the cell is 216 wide and 360 high, the first column at 7992,
// the first baseline at 11080.
Result run_pieces(const std::vector<std::string_view>& pieces,
                  const PlainTextRules& rules = as_the_standard_has_it()) {
  Result out;
  Ecma48 machine(rules, lay_out(small_form(20)).value(), [&out](const Page& page) -> fs::Status {
    out.shown.push_back(show(page));
    out.text.push_back(text_of(page));
    return {};
  });
  for (const std::string_view piece : pieces) {
    if (out.status) out.status = machine.feed(piece);
  }
  if (out.status) out.status = machine.finish();
  out.report = machine.report();
  return out;
}

// The pages' runs, as they stand on the grid of the form: lines between "|", columns blank as they
// are; "" where nothing is printed.
std::string grid(std::string_view bytes, const PlainTextRules& rules = as_the_standard_has_it()) {
  std::string out;
  Ecma48 machine(rules, lay_out(small_form(20)).value(), [&out](const Page& page) -> fs::Status {
    const Layout layout = lay_out(small_form(20)).value();
    std::vector<std::string> lines(static_cast<std::size_t>(layout.lines));
    for (const Run& run : page.runs()) {
      const Units down = run.baseline - layout.baseline(0);
      REQUIRE(down % layout.cell.height == 0);
      std::string& line = lines[static_cast<std::size_t>(down / layout.cell.height)];
      for (std::size_t i = 0; i < run.count; ++i) {
        const Units right = run.x + static_cast<Units>(i) * run.size.pitch - layout.left;
        REQUIRE(right % layout.cell.pitch == 0);
        const auto column = static_cast<std::size_t>(right / layout.cell.pitch);
        line.resize(std::max(line.size(), column + 1), ' ');
        line[column] = static_cast<char>(page.cells(run)[i].character);
      }
    }
    while (!lines.empty() && lines.back().empty()) lines.pop_back();
    if (!out.empty()) out += "//";
    for (std::size_t i = 0; i < lines.size(); ++i) out += (i > 0 ? "|" : "") + lines[i];
    return {};
  });
  REQUIRE(machine.feed(bytes));
  REQUIRE(machine.finish());
  CHECK(machine.report().unknown_controls == 0);
  return out;
}

// The page of the one line of text.
std::string page(std::string_view bytes) {
  const Result result = run_pieces({bytes});
  REQUIRE(result.status);
  CHECK(result.report.unknown_controls == 0);
  REQUIRE(result.shown.size() == 1);
  return result.shown[0];
}

// What is unknown in the bytes: where, and how it is told.
std::string unknown(std::string_view bytes,
                    const PlainTextRules& rules = as_the_standard_has_it()) {
  std::string out;
  for (const UnknownCode& code : run_pieces({bytes}, rules).report.unknown) {
    out += fmt::format("{}{}:", out.empty() ? "" : " ", code.offset);
    for (unsigned i = 0; i < code.size; ++i) out += fmt::format("{:02X}", code.bytes[i]);
  }
  return out;
}

std::string csi(const std::string& rest) {
  return "\x1B[" + rest;
}

}  // namespace

TEST_CASE("format effectors keep the column but for a carriage return, ECMA-48 8.3") {
  CHECK(grid("ab\ncd") == "ab|  cd");  // 8.3.74 LF
  CHECK(grid("ab\r\ncd") == "ab|cd");  // 8.3.15 CR
  CHECK(grid("ab\x0C"
             "cd") == "ab//  cd");  // 8.3.51 FF
  CHECK(grid("ab\x0B"
             "cd") == "ab|  cd");  // 8.3.161 VT, without stops as LF
  CHECK(grid("abc\b\bX") == "aXc");
  CHECK(grid("ab\tcd\te") == "ab      cd      e");  // 8.3.60 HT
  CHECK(grid("ab\x1B"
             "Ecd\x85"
             "e") == "ab|cd|e");              // 8.3.86 NEL
  CHECK(grid("a\n\nb\x1BMc") == "a|  c| b");  // 8.3.104 RI
  CHECK(grid("a\x1BM\x1BMb") == "ab");
  PlainTextRules unix_text;
  CHECK(grid("ab\ncd\x0C"
             "e",
             unix_text) == "ab|cd//e");
  CHECK(grid("ab" + csi("20h") + "\ncd") == "ab|cd");
  PlainTextRules auto_feed = as_the_standard_has_it();
  auto_feed.return_feeds = true;
  CHECK(grid("ab\rcd", auto_feed) == "ab|cd");
}

TEST_CASE("positions are counted from 1, and empty parameters are the default") {
  CHECK(grid(csi("5`") + "x") == "    x");  // 8.3.57 HPA
  CHECK(grid(csi("2`") + "b" + csi("`") + "a") == "ab");
  CHECK(grid("ab" + csi("3a") + "x" + csi("a") + "y") == "ab   x y");  // 8.3.59 HPR
  CHECK(grid(csi("8`") + "x" + csi("4j") + "y") == "    y  x");        // 8.3.58 HPB
  CHECK(grid(csi("3d") + "x" + csi("d") + "y") == " y||x");            // 8.3.158 VPA
  CHECK(grid("a" + csi("2e") + "b" + csi("k") + "c" + csi("3k") + "d") == "a  d|  c| b");
  CHECK(grid(csi("2;4f") + "x" + csi(";2f") + "y" + csi("f") + "z") == "zy|   x");  // 8.3.63 HVP
  CHECK(grid(csi("0001C") + "x") == " x");                                          // B.1
  CHECK(grid(csi("C") + "x" + csi("1C") + "y") == " x y");
}

TEST_CASE("what would be beside the page stays at its edge") {
  CHECK(grid(csi("99`") + "x") == std::string(19, ' ') + "x");
  CHECK(grid(csi("99d") + "x") == "|||||x");
  CHECK(grid(csi("99a") + "x") == std::string(19, ' ') + "x");
  CHECK(grid("a" + csi("99j") + csi("0`") + csi("0d") + " b") == "ab");
  CHECK(grid("a" + csi("7e") + "b") == "a//| b");  // as so many line feeds
}

TEST_CASE("a full line wraps when the next character comes") {
  const std::string full(20, 'x');
  CHECK(grid(full + "\r\ny") == full + "|y");
  CHECK(grid(full + "y") == full + "|y");
  CHECK(grid("a\n\n\n\n\nb\nc") == "a||||| b//  c");
}

TEST_CASE("the names of screens move the head as those of printers do") {
  CHECK(grid("a" + csi("3B") + "b" + csi("A") + "c" + csi("2D") + "d") == "a|| dc| b");
  CHECK(grid("a" + csi("2Eb") + csi("Fc")) == "a|c|b");
  CHECK(grid(csi("3;5H") + "x") == "||    x");
  CHECK(grid("a" + csi("2I") + "b" + csi("2Z") + "c") == "a       c       b");
}

TEST_CASE("a character is repeated, ECMA-48 8.3.103") {
  CHECK(grid("-" + csi("5bx") + csi("b")) == "------xx");
  CHECK(grid("a" + csi("30b")) == std::string(20, 'a') + "|" + std::string(11, 'a'));
  CHECK(unknown(csi("3b")) == "0:1B5B62");
  CHECK(run_pieces({"x\x1B[9999999b"}).status.has_value());
}

TEST_CASE("tabulation stops are set and taken away") {
  // 8.3.62 HTS, 8.3.154 TBC.
  CHECK(grid(csi("3g") + "ab\x1BH\r\tc") == "abc");
  CHECK(grid(csi("2g") + csi("5`") + "\x88" + csi("11`") + "\x88\r\tx\ty") == "    x     y");
  CHECK(grid(csi("9`") + csi("g") + "\r\tx") == std::string(16, ' ') + "x");
  // 8.3.162 VTS, 8.3.161 VT.
  CHECK(grid(csi("3d") + "\x1BJ" + csi("5d") + "\x8A" + csi("d") + "a\vb\vc\vd") ==
        "a|| b||  c//   d");
  CHECK(grid(csi("3d") + "\x1BJ" + csi("4g") + csi("d") + "a\vb") == "a| b");
  CHECK(grid(csi("3d") + "\x1BJ" + csi("1g") + csi("d") + "a\vb") == "a| b");
  CHECK(unknown(csi("9g")) == "0:1B5B67");
}

TEST_CASE("renditions add up until they are taken back, ECMA-48 8.3.117") {
  CHECK(page(csi("1m") + "a" + csi("3m") + "b" + csi("22m") + "c" + csi("m") + "d") ==
        "run 7992,11080 cell 216x360 |abcd|\n  style |bBi.|\n");
  CHECK(page("a" + csi("1;3m") + "b" + csi("23m") + "c" + csi("0;3m") + "d") ==
        "run 7992,11080 cell 216x360 |abcd|\n  style |.Bbi|\n");
  // 4 under, 9 through, 21 twice, 53 over; the blank between belongs to it.
  CHECK(page("a" + csi("4m") + "b c" + csi("24m") + "d") ==
        "run 7992,11080 cell 216x360 |ab cd|\nrule 8208,11110 size 648x15\n");
  CHECK(page(csi("9m") + "a" + csi("29m") + "b") ==
        "run 7992,11080 cell 216x360 |ab|\nrule 7992,10990 size 216x15\n");
  CHECK(page(csi("53m") + "a" + csi("55m") + "b") ==
        "run 7992,11080 cell 216x360 |ab|\nrule 7992,10810 size 216x15\n");
  CHECK(page(csi("21m") + "a" + csi("24m") + "b") ==
        "run 7992,11080 cell 216x360 |ab|\nrule 7992,11110 size 216x15\n"
        "rule 7992,11140 size 216x15\n");
}

TEST_CASE("in the replacing mode each rendition takes the others back, ECMA-48 7.2.8") {
  CHECK(page(csi("21l") + csi("1m") + "a" + csi("3m") + "b" + csi("21h") + csi("1m") + "c") ==
        "run 7992,11080 cell 216x360 |abc|\n  style |biB|\n");
  CHECK(unknown(csi("21l") + csi("4h") + csi("99h") + csi("h")) == "9:1B5B68 14:1B5B68");
}

TEST_CASE("renditions without a look on paper do nothing, unknown ones are counted") {
  CHECK(unknown(csi("2;5;6;7;8;10;20;25;27;28;40;49;65m")) == "");
  CHECK(unknown(csi("4;66m") + "x" + csi("38;5;1m") + csi("38:5:1m")) ==
        "0:1B5B6D 8:1B5B6D 17:1B5B6D");
}

TEST_CASE("colours are inks") {
  const auto ink = [](const std::string& rendition) {
    Ink found = Ink::black;
    Ecma48 machine({}, lay_out(small_form()).value(), [&](const Page& page) -> fs::Status {
      found = page.cells(page.runs()[0])[0].ink;
      return {};
    });
    REQUIRE(machine.feed(csi(rendition + "mx")));
    REQUIRE(machine.finish());
    return found;
  };
  CHECK(ink("31") == Ink::red);
  CHECK(ink("32") == Ink::green);
  CHECK(ink("33") == Ink::yellow);
  CHECK(ink("34") == Ink::violet);
  CHECK(ink("35") == Ink::magenta);
  CHECK(ink("36") == Ink::cyan);
  CHECK(ink("37") == Ink::black);
  CHECK(ink("31;39") == Ink::black);
}

TEST_CASE("spacings are set by number, ECMA-48 8.3.118 and 8.3.149") {
  const auto pitch = [](const std::string& choice) {
    const std::string shown = page("a" + csi(choice + " K") + "b");
    return shown.substr(shown.rfind("cell ") + 5, 7);
  };
  CHECK(pitch("1") == "180x360");  // 12 to the inch
  CHECK(pitch("2") == "144x360");
  CHECK(pitch("3") == "360x360");
  CHECK(pitch("4") == "720x360");
  CHECK(pitch("5") == "480x360");
  CHECK(pitch("6") == "540x360");
  CHECK(unknown(csi("7 K")) == "0:1B5B204B");
  const auto line = [](const std::string& choice) {
    const std::string shown = page(csi(choice + " L") + "a\r\nb");
    const auto at = shown.rfind("run 7992,") + 9;
    return std::stoi(shown.substr(at)) - 11080;
  };
  CHECK(line("0") == 360);
  CHECK(line("") == 360);
  CHECK(line("1") == 540);
  CHECK(line("2") == 720);
  CHECK(line("3") == 180);
  CHECK(line("4") == 270);
  CHECK(line("5") == 425);  // 6 in 30 mm: 425.2
  CHECK(line("6") == 638);
  CHECK(line("7") == 850);
  CHECK(line("8") == 213);
  CHECK(line("9") == 1080);
  CHECK(unknown(csi("10 L")) == "0:1B5B204C");
}

TEST_CASE("spacings are set in any unit of SSU, ECMA-48 8.3.139") {
  // 120/720 and 72/720 inch: 6 lines and 10 characters to the inch.
  CHECK(page(csi("2 I") + csi("3 K") + csi("120;72 G") + "ab\r\nc") ==
        "run 7992,11080 cell 216x360 |ab|\nrun 7992,11440 cell 216x360 |c|\n");
  const auto pitch = [](const std::string& unit, const std::string& width) {
    const std::string shown = page(csi(unit + " I") + csi(width + " g") + "ab");
    return shown.substr(shown.rfind("cell ") + 5, 3);
  };
  CHECK(pitch("1", "3") == "255");     // mm
  CHECK(pitch("2", "60") == "180");    // 1/720 in
  CHECK(pitch("3", "68") == "217");    // 10/266 mm
  CHECK(pitch("4", "100") == "216");   // 1/1000 in
  CHECK(pitch("5", "100") == "180");   // 1/1200 in
  CHECK(pitch("6", "2540") == "216");  // micrometres
  CHECK(pitch("7", "36") == "216");    // 1/360 in
  CHECK(pitch("8", "72") == "215");    // 35/996 mm
  CHECK(pitch("0", "2") == "432");
  CHECK(page(csi("2 I") + csi("90 h") + "a\r\nb") ==
        "run 7992,11080 cell 216x270 |a|\nrun 7992,11350 cell 216x270 |b|\n");  // SLS
  CHECK(page(csi("2 I") + csi("0 g") + csi(" h") + csi(" G") + "a") ==
        "run 7992,11080 cell 216x360 |a|\n");
  CHECK(unknown(csi("9 I")) == "0:1B5B2049");
}

TEST_CASE("the size of characters changes, and their width how far they move") {
  // 8.3.55 GSM, 8.3.56 GSS.
  CHECK(page("a" + csi("200;200 B") + "b" + csi(" B") + "c") ==
        "run 7992,11080 cell 216x360 |a|\nrun 8208,11080 cell 432x720 |b|\n"
        "run 8640,11080 cell 216x360 |c|\n");
  CHECK(page(csi("2 I") + csi("180 C") + "a") == "run 7992,11080 cell 216x540 |a|\n");
  CHECK(page(csi("2 I") + csi("180 C") + csi("50 B") + "a") == "run 7992,11080 cell 216x270 |a|\n");
}

TEST_CASE("half a line down is subscript, up superscript, and each undoes the other") {
  // 8.3.92 PLD, 8.3.93 PLU.
  CHECK(page("H\x1BK2\x1BLO") ==
        "run 7992,11080 cell 216x360 |H O|\nrun 7992,11260 cell 216x240 | 2|\n");
  CHECK(page("H\x8B"
             "2\x8CO\x1BL3\x1BK") == page("H\x1BK2\x1BLO\x1BL3"));
}

TEST_CASE("text is set to the left, the middle, the right and both margins") {
  // 8.3.102 QUAD.
  CHECK(grid("abcd" + csi("2 H")) == "        abcd");
  CHECK(grid("abc" + csi("2 H")) == "        abc");
  CHECK(grid("abcd" + csi("4 H")) == std::string(16, ' ') + "abcd");
  CHECK(grid(csi("5`") + "abcd" + csi(" H")) == "abcd");
  CHECK(grid("ab" + csi(" H") + "cd" + csi("4 H")) == "ab" + std::string(16, ' ') + "cd");
  CHECK(grid("ab" + csi("1 H")) == "ab" + std::string(18, '.'));
  CHECK(grid("abcd" + csi("3 H")) == "........abcd........");
  CHECK(grid("abcd" + csi("5 H")) == std::string(16, '.') + "abcd");
  CHECK(grid("ab cd ef" + csi("6 H") + "\r\nx") == "ab       cd       ef|x");
  CHECK(grid("one\r\ntwo" + csi("4 H")) == "one|" + std::string(17, ' ') + "two");
  CHECK(grid(csi("4 H") + "x") == "x");
  CHECK(unknown("x" + csi("7 H")) == "1:1B5B2048");
}

TEST_CASE("margins are set by columns and lines") {
  // 8.3.122 SLH, .123 SLL, .131 SPH, .133 SPL.
  CHECK(grid(csi("3 U") + "a\r\nb") == "  a|  b");
  CHECK(grid(csi("4 V") + "abcdef") == "abcd|ef");
  CHECK(grid(csi("2 i") + "a\r\x0C"
                          "b") == "|a//|b");
  CHECK(grid(csi("2 j") + "a\r\nb\r\nc") == "a|b//c");
  CHECK(grid(csi("3 U") + csi("7 V") + "ab" + csi("4 H")) == "     ab");
  // 8.3.91 PFS: no sheet is larger than the one there is.
  CHECK(grid(csi("3 J") + csi("99`") + "x") == std::string(19, ' ') + "x");
  CHECK(unknown(csi("15 J")) == "0:1B5B204A");
}

TEST_CASE("a reset takes all back, ECMA-48 8.3.105") {
  CHECK(page("a\r\n" + csi("1;4m") + csi("3 K") + csi("3g") +
             "\x1B"
             "c"
             "b\tc") ==
        "run 7992,11080 cell 216x360 |a|\nrun 7992,11440 cell 216x360 |b       c|\n");
}

TEST_CASE("text may come in any order, and struck twice is bold") {
  CHECK(grid(csi("3;1f") + "d" + csi("1;2f") + "b" + csi("f") + "a" + csi("3;2f") + "e") ==
        "ab||de");
  CHECK(page("ab\r" + csi("a") + "b") == "run 7992,11080 cell 216x360 |ab|\n  style |.b|\n");
  CHECK(page("ab\r__") == "run 7992,11080 cell 216x360 |ab|\nrule 7992,11110 size 432x15\n");
}

TEST_CASE("unknown functions are counted with their place and never printed") {
  CHECK(unknown("abc\x1B[5z") == "3:1B5B7A");
  CHECK(unknown("\x1B(B\x1B"
                "7x\x0E\x1BPq\x1B\\") == "0:1B2842 3:1B37 6:0E 7:1B50");
  CHECK(unknown("\x1B[?25hx\x9B"
                "5\x18") == "0:1B5B68 7:1B5B");
  CHECK(unknown("x\x1B[1") == "1:1B5B");
  CHECK(unknown("x\x1B") == "1:1B");
  CHECK(unknown("\x91") == "0:91");
  CHECK(run_pieces({"a\x1B[5z\x1B(Bb"}).text == std::vector<std::string>{"ab\n"});
}

TEST_CASE("bytes 80-9F are letters in code pages, and codes of two bytes in UTF-8") {
  PlainTextRules rules = as_the_standard_has_it();
  rules.charset = Charset::cp437;
  CHECK(run_pieces({"\x81\x85\x9B"}, rules).text[0] == "üà¢\n");
  rules.charset = Charset::iso_8859_1;
  CHECK(grid("a\x85"
             "b",
             rules) == "a|b");
  rules.charset = Charset::utf_8;
  CHECK(grid("a\xC2\x85"
             "b\xC2\x9B"
             "3`c",
             rules) == "a|b c");
  CHECK(run_pieces({"\xC3\xA9\xC3\x1B[m"}, rules).text[0] == "é\uFFFD\n");
  CHECK(unknown("\xC2\x91", rules) == "0:1B51");
  rules.charset = Charset::iso646_de;  // the letter there is no bracket, but the function stays
  CHECK(run_pieces({"[\x1B[3`["}, rules).text[0] == "Ä Ä\n");
}

TEST_CASE("empty pages are as in plain text") {
  CHECK(run_pieces({"\x0C"
                    "a"})
            .shown.size() == 1);
  CHECK(run_pieces({"a\x0C"}).shown.size() == 1);
  CHECK(run_pieces({"a\x0C\x0C"
                    "b"})
            .shown.size() == 3);
  CHECK(run_pieces({"a\x1B[20e"}).shown.size() == 1);
  PlainTextRules few = as_the_standard_has_it();
  few.most_pages = 2;
  CHECK(run_pieces({"a\x1B[99999999e"}, few).status.error().code == fs::Code::over_quota);
}

TEST_CASE("whatever comes, pages come of it and none is endless") {
  std::mt19937 random(48);
  const std::string letters = "ABCDEFGHIJKLMNOPXYZ\\^_`abcdefghijklmg 0123456789;:?";
  const auto any = [&](const std::string& of) { return of[random() % of.size()]; };
  PlainTextRules rules = as_the_standard_has_it();
  rules.most_pages = 20;
  for (int job = 0; job < 500; ++job) {
    std::string bytes;
    for (int i = 0; i < 60; ++i) {
      switch (random() % 4) {
        case 0:
          bytes += "\x1B[" + std::to_string(random() % (random() % 8 == 0 ? 99999999 : 40));
          if (random() % 3 == 0) bytes += ";" + std::to_string(random() % 3000);
          if (random() % 3 == 0) bytes += ' ';
          bytes += any(letters);
          break;
        case 1: bytes += {'\x1B', any(letters)}; break;
        case 2: bytes += static_cast<char>(random()); break;
        default: bytes += any(letters + "\n\r\b\t\f\v");
      }
    }
    const Result result = run_pieces({bytes}, rules);
    CAPTURE(job);
    CHECK((result.status || result.status.error().code == fs::Code::over_quota));
    CHECK(result.shown.size() <= 20);
  }
}

TEST_CASE("a job of ECMA-48 cut anywhere gives the same pages") {
  const std::string job = "T\x1B[1mitle\x1B[2 H\x1B[0m\r\n\x1B[4mA\xC3\xA9\x1B[24m\x1BKx\x1BL" +
                          csi("3b") +
                          "\t\x1B]0;t\x1B\\y\r\n\x1B[3;5fz\x1B[\x1B[9z\x0C\xC2\x85q\xC3";
  PlainTextRules rules = as_the_standard_has_it();
  rules.charset = Charset::utf_8;
  const Result whole = run_pieces({job}, rules);
  REQUIRE(whole.status);
  REQUIRE(whole.shown.size() == 2);
  for (std::size_t at = 0; at <= job.size(); ++at) {
    CAPTURE(at);
    const std::string_view view = job;
    const Result cut = run_pieces({view.substr(0, at), view.substr(at)}, rules);
    CHECK(cut.shown == whole.shown);
    CHECK(cut.report.unknown == whole.report.unknown);
  }
}
