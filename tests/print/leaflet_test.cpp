#include "print/leaflet.h"

#include "fs/text.h"
#include "tests/print/printing.h"
#include "tests/print/tools.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;

namespace {

using Lines = std::vector<std::string>;

std::string two_slips() {
  std::string pdf;
  Leaflet leaflet(fonts(), find_paper("a4").value(), metadata(), to(pdf));
  const Units margin = inches(1, 2);
  leaflet.text(margin, inches(1), Type::title, "Welcome");
  const Units below = leaflet.paragraph(margin, inches(2), inches(2), Type::body,
                                        "Your name here is robin, and nobody else has it.");
  CHECK(below == inches(2) + 2 * line_of(Type::body));
  leaflet.frame(margin, inches(3), inches(2), inches(1));
  leaflet.cut_across(leaflet.height() / 2, 0, leaflet.width());
  leaflet.cut_down(leaflet.width() / 2, 0, leaflet.height());
  CHECK(leaflet.next_page());
  leaflet.text(margin, inches(1), Type::small, "tab\there, \x1B[1m and caf\xC3\xA9");
  CHECK(leaflet.finish());
  return pdf;
}

}  // namespace

TEST_CASE("Lines break at blanks, and inside words only where one is longer than a line") {
  CHECK(wrapped("the tide table", 8) == Lines{"the tide", "table"});
  CHECK(wrapped("the tide table", 9) == Lines{"the tide", "table"});
  CHECK(wrapped("the tide table", 7) == Lines{"the", "tide", "table"});
  CHECK(wrapped("the   tide", 4) == Lines{"the", "tide"});
  CHECK(wrapped("tidewrack mill", 4) == Lines{"tide", "wrac", "k", "mill"});
  CHECK(wrapped("two\nlines", 20) == Lines{"two", "lines"});
  CHECK(wrapped("a\n\nb", 20) == Lines{"a", "", "b"});
  CHECK(wrapped("", 20) == Lines{""});
  CHECK(wrapped("ab", 0) == Lines{"a", "b"});
  CHECK(wrapped("caf\xC3\xA9 \xC3\xA9t\xC3\xA9", 4) == Lines{"caf\xC3\xA9", "\xC3\xA9t\xC3\xA9"});
}

TEST_CASE("No line is too long, and no character but blanks is lost") {
  const std::string text = "  one two  three-and-a-half   four \xC3\xA9t\xC3\xA9 five\n six  ";
  const auto without_blanks = [](std::string_view from) {
    std::string out;
    for (const char c : from) {
      if (c != ' ' && c != '\n') out += c;
    }
    return out;
  };
  for (std::size_t columns = 1; columns < 60; ++columns) {
    std::string together;
    for (const std::string& line : wrapped(text, columns)) {
      CHECK(fs::characters(line) <= columns);
      together += line;
    }
    CHECK(without_blanks(together) == without_blanks(text));
  }
}

TEST_CASE("A leaflet's text is found again, with nothing in it that does not print") {
  const std::string pdf = two_slips();
  const Ran ran = run_on(pdf, "pdftotext -layout % -");
  CHECK_THAT(ran.out, Catch::Contains("Welcome") && Catch::Contains("Your name here is robin,") &&
                          Catch::Contains("tab here,") && Catch::Contains("[1m and caf\xC3\xA9"));
  CHECK(run_on(pdf, "qpdf --check %").exit == 0);
}

TEST_CASE("Equal leaflets are equal bytes (invariant 7)") {
  CHECK(two_slips() == two_slips());
}

TEST_CASE("A leaflet without anything on it is one blank sheet") {
  std::string pdf;
  Leaflet leaflet(fonts(), find_paper("a4").value(), metadata(), to(pdf));
  CHECK(leaflet.finish());
  CHECK(run_on(pdf, "qpdf --show-npages %").out == "1\n");
}
