// The corpus of dot-matrix codes: tests/golden/print/dots_*.txt, in the form of corpus.h.

#include <string>

#include <fmt/format.h>

#include "print/dot_matrix.h"
#include "tests/print/corpus.h"
#include "tests/print/pages.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;

namespace {

// 80 columns and 66 lines on 11 inches, whose home position is the sheet's corner.
struct Printer {
  Pins pins;
  DotRules rules;
  Form form = small_form(80, 66);
  Layout layout = {0, 0, {216, 360}, 80, 66};
};

Printer printer_of(const CorpusCase& one, const std::string& language) {
  Printer printer{language == "nine-pin" ? Pins::nine : Pins::twenty_four, {}};
  const auto is_set = [&one](std::string_view rule) {
    return one.rules.find(rule) != std::string::npos;
  };
  printer.rules.return_feeds = is_set("return-feeds");
  printer.rules.drop_neighbours = is_set("drop-neighbours");
  printer.rules.near_letter_quality = is_set("near-letter-quality");
  if (is_set("italic-table")) printer.rules.table = DotTable::italic;
  if (is_set("cp850-table")) printer.rules.table = DotTable::cp850;
  if (is_set("condensed")) printer.layout = {0, 0, {126, 360}, 137, 66};
  if (is_set("6-lines")) printer.layout.lines = 6;
  if (is_set("skip-6")) {
    printer.layout.lines = 60;
    printer.form.skip = 6;
  }
  return printer;
}

std::string print_job(const Printer& printer, const std::vector<std::string_view>& pieces) {
  std::string out;
  DotMatrix dots(printer.pins, printer.rules, printer.form, printer.layout,
                 [&out](const Page& page) -> fs::Status {
                   if (!out.empty()) out += "page\n";
                   out += page.empty() ? "blank\n" : show(page);
                   return {};
                 });
  for (const std::string_view piece : pieces) REQUIRE(dots.feed(piece));
  REQUIRE(dots.finish());
  const JobReport report = dots.report();
  if (report.pages == 0) out = "no page\n";
  if (report.unreadable > 0) out += fmt::format("unreadable {}\n", report.unreadable);
  if (report.blots > 0) out += fmt::format("blots {}\n", report.blots);
  for (const UnknownCode& code : report.unknown) {
    out += fmt::format("unknown at {}:", code.offset);
    for (unsigned i = 0; i < code.size; ++i) out += fmt::format(" {:02X}", code.bytes[i]);
    out += "\n";
  }
  return out;
}

// With @N counted from the printer's first baseline.
std::string placed(std::string text, Pins pins) {
  const int first = pins == Pins::nine ? 210 : 240;
  for (std::size_t at; (at = text.find(",@")) != std::string::npos;) {
    std::size_t digits = 0;
    const int down = std::stoi(text.substr(at + 2), &digits);
    text.replace(at + 1, 1 + digits, std::to_string(first + down));
  }
  return text;
}

void check_job(const CorpusCase& one, std::string_view bytes, const std::string& language) {
  INFO(one.title << " (" << language << ", " << one.source << ")");
  const Printer printer = printer_of(one, language);
  const std::string expected = placed(one.expected, printer.pins);
  CHECK("\n" + print_job(printer, {bytes}) == "\n" + expected);
  for (std::size_t at = 0; at <= bytes.size(); ++at) {
    if (print_job(printer, {bytes.substr(0, at), bytes.substr(at)}) == expected) continue;
    FAIL_CHECK("cut at byte " << at << " it comes out otherwise");
    break;
  }
}

void check(const std::string& chapter) {
  for (const CorpusCase& one : read_corpus(STATIONER_GOLDEN "/" + chapter + ".txt")) {
    for (const CorpusJob& job : one.jobs) {
      if (job.language != "both") {
        check_job(one, job.bytes, job.language);
      } else {
        check_job(one, job.bytes, "nine-pin");
        check_job(one, job.bytes, "24-pin");
      }
    }
  }
}

}  // namespace

TEST_CASE("corpus: single-byte codes of dot-matrix printers") {
  check("dots_controls");
}
TEST_CASE("corpus: the paper of dot-matrix printers") {
  check("dots_paper");
}
TEST_CASE("corpus: margins, tabs and positions of dot-matrix printers") {
  check("dots_across");
}
TEST_CASE("corpus: pitches and styles of dot-matrix printers") {
  check("dots_type");
}
TEST_CASE("corpus: characters of dot-matrix printers") {
  check("dots_sets");
}
TEST_CASE("corpus: bit images of dot-matrix printers") {
  check("dots_images");
}
TEST_CASE("corpus: what dot-matrix printers don't know takes exactly its bytes") {
  check("dots_unknown");
}
