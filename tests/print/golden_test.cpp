// Jobs kept as files, and the pages they make as positions: tests/golden/print/NAME.job and
// NAME.pages.

#include <fstream>
#include <sstream>

#include "tests/print/pages.h"
#include "tests/print/printing.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;

namespace {

std::string contents(const std::string& name) {
  std::ifstream file(STATIONER_GOLDEN "/" + name, std::ios::binary);
  REQUIRE(file.good());
  std::ostringstream out;
  out << file.rdbuf();
  return out.str();
}

void compare(const std::string& name, std::string_view profile, Charset charset) {
  Settings set = settings(profile);
  set.text.charset = charset;
  const Printed printed = print_text(contents(name + ".job"), set.text, set.form);
  REQUIRE(printed.status);
  std::ostringstream found;
  for (std::size_t i = 0; i < printed.shown.size(); ++i) {
    found << "page " << i + 1 << "\n" << printed.shown[i];
  }
  found << "characters " << printed.report.characters << ", unreadable "
        << printed.report.unreadable << ", unknown controls " << printed.report.unknown_controls
        << ", escape sequences " << printed.report.escape_sequences << "\n";
  CHECK(found.str() == contents(name + ".pages"));
}

}  // namespace

TEST_CASE("golden: a ledger with bold, underlines, totals struck together and blank pages") {
  compare("ledger", "fanfold-11", Charset::iso_8859_1);
}

TEST_CASE("golden: boxes and signs of code page 437") {
  compare("boxes", "plain-80", Charset::cp437);
}

TEST_CASE("golden: a job full of another printer's codes") {
  compare("codes", "listing-132", Charset::ascii);
}

TEST_CASE("golden: long lines, and lines ended in three ways") {
  compare("wrap", "plain-80-letter", Charset::ascii);
}
