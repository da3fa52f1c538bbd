#include "print/plain_text.h"

#include <random>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "tests/print/pages.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;
using namespace std::string_literals;

using Pages = std::vector<std::string>;

namespace {

PlainTextRules with(Charset charset) {
  PlainTextRules rules;
  rules.charset = charset;
  return rules;
}

std::string lines(int count, const std::string& line = "\n") {
  std::string out;
  for (int i = 0; i < count; ++i) out += line;
  return out;
}

}  // namespace

TEST_CASE("lines stand at their places on the sheet") {
  const Printed printed = print_text("one\r\n\r\n  three\r\n");
  // 10 columns of 216 u centred between strips of 1080 u on 20,520 u: column 42. 6 lines centred on
  // 66: 30 lines above.
  REQUIRE(printed.shown.size() == 1);
  CHECK(printed.shown[0] ==
        "run 9072,11080 cell 216x360 |one|\n"
        "run 9072,11800 cell 216x360 |  three|\n");
}

TEST_CASE("carriage return and line feed do as the switches say") {
  PlainTextRules rules;
  rules.feed_returns = false;
  CHECK(print_text("ab\ncd", rules).text == Pages{"ab\n  cd\n"});
  CHECK(print_text("ab\r\ncd", rules).text == Pages{"ab\ncd\n"});
  CHECK(print_text("ab\n\rcd", rules).text == Pages{"ab\ncd\n"});
  rules.feed_returns = true;
  CHECK(print_text("ab\ncd", rules).text == Pages{"ab\ncd\n"});
  CHECK(print_text("ab\r\ncd", rules).text == Pages{"ab\ncd\n"});
  rules.return_feeds = true;
  CHECK(print_text("ab\rcd\r", rules).text == Pages{"ab\ncd\n"});
  CHECK_THAT(print_text("ab\r\ncd", rules).shown[0],
             Catch::Contains(",11080 ") && Catch::Contains(",11800 "));  // two lines apart
}

TEST_CASE("a vertical tab feeds a line as a line feed does") {
  CHECK(print_text("ab\vcd").text == Pages{"ab\ncd\n"});
}

TEST_CASE("tabs go to every eighth column") {
  CHECK(print_text("\tx\n1234567\tx\n12345678\tx\n", {}, small_form(20)).text ==
        Pages{"        x\n1234567 x\n12345678        x\n"});
  // At the end of the line there is nothing to go to: what follows wraps, and nothing is lost.
  CHECK(print_text("123456789\tx").text == Pages{"123456789\nx\n"});
  CHECK(print_text("1234567890\tx").text == Pages{"1234567890\nx\n"});
}

TEST_CASE("a full line wraps only when another character comes") {
  CHECK(print_text("1234567890\r\nab\r\n").text == Pages{"1234567890\nab\n"});
  CHECK_THAT(print_text("1234567890\r\nab\r\n").shown[0], Catch::Contains("9072,11440 "));
  CHECK(print_text("1234567890ab").text == Pages{"1234567890\nab\n"});
  CHECK(print_text("1234567890\b0").shown[0] ==
        "run 9072,11080 cell 216x360 |1234567890|\n  style |.........b|\n");
  CHECK(print_text("1234567890\f").text == Pages{"1234567890\n"});
  CHECK(print_text("1234567890 x").text == Pages{"1234567890\n x\n"});
  // Spaces wrap too.
  CHECK(print_text(fmt::format("{:>16}", 'x')).text == Pages{"     x\n"});
}

TEST_CASE("backspace stops at the left margin") {
  CHECK(print_text("a\b\b\b\bb\bb").shown[0] ==
        "run 9072,11080 cell 216x360 |b|\n  style |b|\nmark 9072,11080 cell 216x360 |a| b\n");
}

TEST_CASE("overstrikes by backspace and by carriage return come out the same") {
  const std::string bold = "run 9072,11080 cell 216x360 |ab c|\n  style |bb.b|\n";
  CHECK(print_text("a\bab\bb c\bc").shown[0] == bold);
  CHECK(print_text("ab c\rab c").shown[0] == bold);
  const std::string underlined =
      "run 9072,11080 cell 216x360 |ab c|\nrule 9072,11110 size 432x15\nrule 9720,11110 size "
      "216x15\n";
  CHECK(print_text("_\ba_\bb _\bc").shown[0] == underlined);
  CHECK(print_text("a\b_b\b_ c\b_").shown[0] == underlined);
  CHECK(print_text("ab c\r__ _").shown[0] == underlined);
  CHECK(print_text("__ _\rab c").shown[0] == underlined);
}

TEST_CASE("an underline drawn through a blank keeps the blank a blank") {
  const Printed printed = print_text("to  be\r______");
  CHECK(printed.shown[0] == "run 9072,11080 cell 216x360 |to  be|\nrule 9072,11110 size 1296x15\n");
  // Underscores that aren't between underlined words are characters.
  CHECK(print_text("id: ___").shown[0] == "run 9072,11080 cell 216x360 |id: ___|\n");
  CHECK(print_text("id ___\r__").shown[0] ==
        "run 9072,11080 cell 216x360 |id ___|\nrule 9072,11110 size 432x15\n");
  CHECK(print_text("a_b\r___").shown[0] ==
        "run 9072,11080 cell 216x360 |a_b|\n  style |.b.|\nrule 9072,11110 size 216x15\n"
        "rule 9504,11110 size 216x15\n");
}

TEST_CASE("combining characters join the one before") {
  CHECK(print_text("e\u0301x").text == Pages{"éx\n"});
  CHECK(print_text("123456789e\u0301").text == Pages{"123456789é\n"});
  CHECK(print_text("x\u0301").shown[0] ==
        "run 9072,11080 cell 216x360 |x|\nmark 9072,11080 cell 216x360 |\u0301| .\n");
  CHECK(print_text("\u0301x").text == Pages{"\u0301x\n"});
}

TEST_CASE("form feeds end pages by the rules of line printers") {
  CHECK(print_text("a\fb").text == Pages{"a\n", "b\n"});
  CHECK(print_text("a\fb\f").text == Pages{"a\n", "b\n"});      // one at the end adds none
  CHECK(print_text("\fa").text == Pages{"a\n"});                // one at the start adds none
  CHECK(print_text("\r\0\fa"s).text == Pages{"a\n"});           // nor after what prints nothing
  CHECK(print_text("a\f\fb").text == Pages{"a\n", "", "b\n"});  // two make a blank page
  CHECK(print_text("a\f\f").text == Pages{"a\n", ""});
  CHECK(print_text("\f\fa").text == Pages{"", "a\n"});
  CHECK(print_text("a\f\r\fb").text == Pages{"a\n", "", "b\n"});
  CHECK(print_text("\n\fa").text == Pages{"", "a\n"});
  CHECK(print_text("ab\fcd").text == Pages{"ab\n", "cd\n"});  // to the left margin, too
  CHECK(print_text("").text.empty());
  CHECK(print_text("\f").text.empty());
  CHECK(print_text("  \r\n\n").text.empty());
}

TEST_CASE("line feeds fill pages, and a form feed after a full page only confirms it") {
  const std::string page = lines(6, "x\n");
  CHECK(print_text(page).text == Pages{page});
  CHECK(print_text(page + page).text == Pages{page, page});
  CHECK(print_text(page + "\f" + page).text == Pages{page, page});
  CHECK(print_text(page + "\f\f" + page).text == Pages{page, "", page});
  CHECK(print_text(page + "y\f" + page).text == Pages{page, "y\n", page});
  // Six lines, the last without a line feed, are one page.
  CHECK(print_text(page.substr(0, page.size() - 1)).text == Pages{page});
}

TEST_CASE("pages that line feeds leave blank are kept only before something") {
  CHECK(print_text(fmt::format("a{}b", lines(18))).text == Pages{"a\n", "", "", "b\n"});
  CHECK(print_text(fmt::format("a{}", lines(18))).text == Pages{"a\n"});
  CHECK(print_text(lines(6) + "b").text == Pages{"", "b\n"});
  CHECK(print_text(lines(6) + "\fb").text == Pages{"", "b\n"});
}

TEST_CASE("skipped lines are jumped over") {
  Form form = small_form();
  form.skip = 2;
  CHECK(print_text(lines(5, "x\n"), {}, form).text == Pages{"x\nx\nx\nx\n", "x\n"});
}

TEST_CASE("codes that mean nothing on paper are let pass") {
  const Printed printed = print_text(
      "a\0b\x07"
      "c\x7F"
      "d\x11"
      "e\x13"s);
  CHECK(printed.text == Pages{"abcde\n"});
  CHECK(printed.report.unknown_controls == 0);
}

TEST_CASE("control codes without a meaning are counted, not printed") {
  const Printed printed = print_text(
      "a\x01"
      "b\x0E"
      "c\x0F"
      "d\x12"
      "e\x1F"
      "f\x1A"
      "g\xC2\x85");
  CHECK(printed.text == Pages{"abcdefg\n"});
  CHECK(printed.report.unknown_controls == 7);
}

TEST_CASE("every control code is either known, counted or an escape") {
  for (char code = 0; code < 0x20; ++code) {
    const Printed printed = print_text("a"s + code + "@b");
    CAPTURE(static_cast<int>(code));
    const auto& report = printed.report;
    const bool known = std::string("\0\a\b\t\n\v\f\r\x11\x13"s).find(code) != std::string::npos;
    CHECK(report.unknown_controls == (known || code == 0x1B ? 0u : 1u));
    CHECK(report.escape_sequences == (code == 0x1B ? 1u : 0u));
    for (const std::string& text : printed.text) {
      for (const char byte : text) CHECK((byte == '\n' || byte >= 0x20));
    }
  }
}

TEST_CASE("escape sequences are counted, not printed") {
  const Printed printed = print_text(
      "a\x1B"
      "Eb\x1BK\x03\x00xyzc\x1B[1md\xC2\x9B"
      "0me"s);
  CHECK(printed.text == Pages{"abcde\n"});
  CHECK(printed.report.escape_sequences == 4);
  CHECK(printed.report.characters == 5);
}

TEST_CASE("control-Z ends the text only if the switch says so") {
  PlainTextRules rules;
  CHECK(print_text("a\x1A"
                   "b",
                   rules)
            .text == Pages{"ab\n"});
  CHECK(print_text("a\x1A"
                   "b",
                   rules)
            .report.unknown_controls == 1);
  rules.control_z_ends = true;
  CHECK(print_text("a\x1A"
                   "b\f\f\f",
                   rules)
            .text == Pages{"a\n"});
  CHECK(print_pieces({"a\x1A", "b"}, rules).text == Pages{"a\n"});
  CHECK(print_text("a\x1A"
                   "b",
                   rules)
            .report.unknown_controls == 0);
}

TEST_CASE("the eighth bit is taken off only if the switch says so") {
  PlainTextRules rules = with(Charset::ascii);
  const std::string parity = "\xE1\x62\x8D\x0A\xE3";  // "ab" CR LF "c" with bits set here and there
  CHECK(print_text(parity, rules).report.unreadable == 3);
  CHECK(print_text(parity, rules).text == Pages{"\uFFFDb\uFFFD\n\uFFFD\n"});
  rules.seven_bits = true;
  CHECK(print_text(parity, rules).text == Pages{"ab\nc\n"});
  CHECK(print_text(parity, rules).report.unreadable == 0);
}

TEST_CASE("characters come in the job's set") {
  CHECK(print_text("\x9C\xC9\xCD\xBB", with(Charset::cp437)).text == Pages{"£╔═╗\n"});
  CHECK(print_text("{|}~", with(Charset::iso646_de)).text == Pages{"äöüß\n"});
  CHECK(print_text("\xA4", with(Charset::iso_8859_15)).text == Pages{"€\n"});
  CHECK(print_text("\xEF\xBB\xBFx\xC2\xA0y").text == Pages{"x y\n"});  // mark gone, blank a blank
  CHECK(print_text("\xE2\x82").text == Pages{"\uFFFD\n"});
  CHECK(print_text("\xE2\x82").report.unreadable == 1);
}

TEST_CASE("text with carriage returns alone is told by its blots") {
  CHECK(print_text("one\rtwo\rsix\r").report.blots == 3);
  CHECK(print_text("a\ba b\b_ e\b' \rxx").report.blots == 1);
  CHECK(print_text("one\r\none\r\n").report.blots == 0);
}

TEST_CASE("the report counts what was printed") {
  const Printed printed = print_text("ab c\n\n d\fe");
  CHECK(printed.report.pages == 2);
  CHECK(printed.report.characters == 5);
}

namespace {

// A bit of everything.
const std::string mixture =
    "\fTidewrack Mill\r______________\r\n\tledger\b\b\blll\r\n"
    "\x1B"
    "E\x1BK\x04\x00\n\f\n\n\x1B[0;1m\x1B&l0O"s
    "caf\xC3\xA9 e\xCC\x81 \xE2\x94\x8C\xE2\x94\x80\xE2\x94\x90 \xF0\x9F\x98\x80 \xE2\x82x\xFF\r\n"
    "1234567890123456789012345\b5\n\f\f\n\n\n\n\n\n\n\n\nafter blanks\x01\x7F\0 M\bW 0\b/ e\b'\vx"s;

bool equal(const Printed& a, const Printed& b) {
  return a.shown == b.shown && a.report.pages == b.report.pages &&
         a.report.characters == b.report.characters && a.report.unreadable == b.report.unreadable &&
         a.report.unknown_controls == b.report.unknown_controls &&
         a.report.escape_sequences == b.report.escape_sequences;
}

}  // namespace

TEST_CASE("a job split anywhere gives the same pages") {
  const Form form = small_form(20);
  const Printed whole = print_text(mixture, {}, form);
  REQUIRE(whole.shown.size() == 4);
  const std::string_view all = mixture;
  for (std::size_t at = 0; at <= all.size(); ++at) {
    CAPTURE(at);
    CHECK(equal(whole, print_pieces({all.substr(0, at), all.substr(at)}, {}, form)));
  }
  std::vector<std::string_view> bytes;
  for (std::size_t at = 0; at < all.size(); ++at) bytes.push_back(all.substr(at, 1));
  CHECK(equal(whole, print_pieces(bytes, {}, form)));
}

TEST_CASE("any bytes whatever make pages within the form, split or whole") {
  std::mt19937 random(9600);
  const std::string favourites = "\b\r\n\f\t\x1B _'/AAAA\xCC\x81";
  for (int round = 0; round < 300; ++round) {
    std::string bytes;
    for (int i = 0; i < 3000; ++i) {
      bytes += random() % 2 == 0 ? static_cast<char>(random())
                                 : favourites[random() % favourites.size()];
    }
    PlainTextRules rules = with(charsets()[random() % charsets().size()].charset);
    rules.seven_bits = random() % 4 == 0;
    rules.return_feeds = random() % 2 == 0;
    rules.feed_returns = random() % 2 == 0;
    const Layout layout = lay_out(small_form()).value();
    const auto pages_of = [&](bool split) {
      std::string shown;
      PlainText text(rules, layout, [&](const Page& page) -> fs::Status {
        shown += show(page) + "--\n";
        bool within = page.runs().size() <= 6 && page.marks().size() <= 6 * 10 * 3 &&
                      page.rules().size() <= 6 * 5;
        for (const Run& run : page.runs()) {
          within = within && run.count <= 10 && run.baseline <= layout.baseline(5);
          for (const Cell& cell : page.cells(run)) within = within && cell.character >= U' ';
        }
        CHECK(within);
        return {};
      });
      std::string_view left = bytes;
      while (!left.empty()) {
        const std::size_t size = split ? 1 + random() % left.size() : left.size();
        CHECK(text.feed(left.substr(0, size)));
        left.remove_prefix(size);
      }
      CHECK(text.finish());
      return shown;
    };
    CHECK(pages_of(false) == pages_of(true));
  }
}

TEST_CASE("a job with too many pages is refused at the limit") {
  PlainTextRules rules;
  rules.most_pages = 3;
  CHECK(print_text("a\fb\fc\f", rules).status);
  const Printed over = print_text("a\fb\fc\fd", rules);
  REQUIRE(over.status.has_error());
  CHECK(over.status.error().code == fs::Code::over_quota);
  CHECK_THAT(over.status.error().message,
             Catch::Contains("3 pages") && Catch::Contains("in parts"));
  CHECK(over.shown.size() == 3);
}

TEST_CASE("hostile jobs meet the limit and take no memory") {
  PlainTextRules rules;
  rules.most_pages = 100;
  const std::string form_feeds(1 << 20, '\f');
  CHECK(print_text(form_feeds, rules).status.error().code == fs::Code::over_quota);
  CHECK(print_text(form_feeds, rules).shown.size() == 100);
  const std::string line_feeds(1 << 20, '\n');
  CHECK(print_text(line_feeds, rules).status.error().code == fs::Code::over_quota);
  CHECK(print_text(line_feeds, rules).shown.empty());
  const std::string blanks(1 << 20, ' ');
  CHECK(print_text(blanks, rules).status.error().code == fs::Code::over_quota);

  std::string storm = "x";
  for (int i = 0; i < 1'000'000; ++i) storm += std::string("\b") + static_cast<char>('!' + i % 90);
  const Printed blot = print_text(storm, rules);
  CHECK(blot.status);
  REQUIRE(blot.shown.size() == 1);
  CHECK(blot.shown[0].size() < 300);
  CHECK(print_text(fmt::format("{}x", std::string(1 << 20, '\b')), rules).text == Pages{"x\n"});

  const std::string combining =
      fmt::format("e{}", lines(100'000, "\u0301\u0302\u0316\u0317\u0318"));
  CHECK(print_text(combining, rules).shown[0].size() < 300);
}

TEST_CASE("what the sink says is what the job says") {
  const Layout layout = lay_out(small_form()).value();
  const fs::Error full{fs::Code::no_space, "the disk is full"};
  int pages = 0;
  PlainText text({}, layout, [&](const Page&) -> fs::Status {
    if (++pages == 2) return full;
    return {};
  });
  CHECK(text.feed("a\fb"));
  const fs::Status status = text.feed("\fc\fd");
  REQUIRE(status.has_error());
  CHECK(status.error().message == "the disk is full");
  CHECK(pages == 2);
}
