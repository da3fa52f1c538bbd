#include "print/dot_matrix.h"

#include <string>

#include "tests/print/pages.h"
#include "tests/print/pdf_reader.h"
#include "tests/print/printing.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;
using namespace std::string_literals;

namespace {

struct Dots {
  std::vector<std::string> shown;
  JobReport report;
  fs::Status status;
};

Dots print_dots(std::string_view job, const DotRules& rules = {}, const Form& form = small_form()) {
  Dots out;
  DotMatrix dots(Pins::nine, rules, form, lay_out(form).value(),
                 [&out](const Page& page) -> fs::Status {
                   out.shown.push_back(show(page));
                   return {};
                 });
  out.status = dots.feed(job);
  if (out.status) out.status = dots.finish();
  out.report = dots.report();
  return out;
}

}  // namespace

TEST_CASE("a job in escape codes has no more pages than it may") {
  const Dots dots = print_dots("a\fb\fc", {.most_pages = 2});
  REQUIRE(dots.status.has_error());
  CHECK(dots.status.error().code == fs::Code::over_quota);
  CHECK(dots.shown.size() == 2);
  // 255/216 inch on forms of 1/216: one command ends 255 pages.
  CHECK(!print_dots("\x1B\x33\x01\x1B\x43\x01\x1BJ\xFFx", {.most_pages = 100}).status);
}

TEST_CASE("a line that never ends is printed when it is long enough, and stays a line") {
  std::string job;
  for (int i = 0; i < 6000; ++i) job += "x\x1B$\0\0"s;
  const Dots dots = print_dots(job);
  REQUIRE(dots.status);
  CHECK(dots.report.characters == 6000);
  REQUIRE(dots.shown.size() == 1);
  const Form form = small_form();
  const Layout layout = lay_out(form).value();
  CHECK(dots.shown[0] == "run " + std::to_string(layout.left) + "," +
                             std::to_string(layout.top + 210) + " cell 216x360 |x|\n  style |b|\n");
}

TEST_CASE("a page takes so much and no more, and the report says what it lost") {
  // As many characters as never end at places of their own: no line feed, 1/72 inch apart down.
  std::string job;
  const std::size_t columns = 10;
  for (std::size_t i = 0; i < Strikes::most / columns + 1; ++i) {
    job += i % 2 == 0 ? "\x1BJ\x03" : "\x1Bj\x03";
    job += "\r0123456789";
  }
  const Dots dots = print_dots(job);
  REQUIRE(dots.status);
  CHECK(dots.shown.size() == 1);
  CHECK(dots.report.crowded_out == (Strikes::most / columns + 1) * columns - Strikes::most);
}

TEST_CASE("seven bits leave the eighth out of text, not out of images") {
  const Dots dots = print_dots("\xE1\x8D\x8A\x1BK\1\0\x80"s, {.seven_bits = true});
  REQUIRE(dots.shown.size() == 1);
  CHECK(dots.shown[0].find("|a|") != std::string::npos);
  CHECK(dots.shown[0].find("  |#| row 0\n") != std::string::npos);
}

TEST_CASE("a job in escape codes becomes a PDF whose report tells what was unknown") {
  Settings set = settings("plain-80");
  set.language = Language::nine_pin;
  std::string_view job =
      "\x1B\x45"
      "Tidewrack\x1B\x46 Mill\x1By\x01\r\n";
  std::string out;
  const JobReport report = render(
                               [&job](std::span<char> room) -> fs::Result<std::size_t> {
                                 const std::size_t size = std::min(room.size(), job.size());
                                 std::copy_n(job.begin(), size, room.begin());
                                 job.remove_prefix(size);
                                 return size;
                               },
                               set, metadata(), fonts(), to(out))
                               .value();
  CHECK(report.pages == 1);
  CHECK(report.characters == 13);
  CHECK(report.unknown == std::vector<UnknownCode>{{18, {0x1B, 'y'}, 2}, {20, {0x01}, 1}});
  CHECK(PdfReader(out).pages().size() == 1);
}
