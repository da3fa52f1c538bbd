#include "admin/slips.h"

#include <algorithm>

#include <catch2/catch.hpp>

#include "fs/text.h"
#include "tests/print/tools.h"

using namespace stationer;
using namespace stationer::admin;

namespace {

std::string pdf_of(std::vector<Slip> slips, const char* paper = "a4") {
  static const auto fonts = print::Fonts::load();
  REQUIRE(fonts);
  std::string pdf;
  const auto made = make_slips(std::move(slips), "Tidewrack Mill", print::find_paper(paper).value(),
                               std::chrono::sys_seconds{std::chrono::seconds{1'795'000'000}},
                               *fonts, [&](std::string_view bytes) {
                                 pdf += bytes;
                                 return fs::Status();
                               });
  REQUIRE(made);
  return pdf;
}

// Each page's text, several blanks in a row as one.
std::vector<std::string> pages_of(const std::string& pdf) {
  std::vector<std::string> pages(1);
  for (const char c : test::run_on(pdf, "pdftotext -layout % -").out) {
    if (c == '\f') {
      pages.emplace_back();
    } else if (c != ' ' || !pages.back().ends_with(' ')) {
      pages.back() += c;
    }
  }
  pages.pop_back();
  return pages;
}

}  // namespace

TEST_CASE("a slip tells who, the name, the password, how, and to keep it") {
  const auto pages =
      pages_of(pdf_of({{"Robin Fenn", "evening", "member", "robinf", "k7mwp9xq4t"}}));
  REQUIRE(pages.size() == 1);
  for (const char* each :
       {"Tidewrack Mill, class evening", "Robin Fenn", "Name robinf", "Password k7mwp9xq4t",
        "At a terminal: press Enter,", "Keep this to yourself"}) {
    CAPTURE(each, pages[0]);
    CHECK(pages[0].find(each) != std::string::npos);
  }
}

TEST_CASE("slips come by class and name, ten to a sheet, in the same bytes whatever their order") {
  std::vector<Slip> slips;
  for (int i = 0; i < 23; ++i) {
    slips.push_back({"Robin Fenn " + std::string(1, static_cast<char>('A' + i)),
                     i % 2 == 0 ? "evening" : "day", "member", "robin" + std::to_string(i),
                     "k7mwp9xq4t"});
  }
  const std::string pdf = pdf_of(slips);
  const auto pages = pages_of(pdf);
  REQUIRE(pages.size() == 3);
  CHECK(pages[0].find("class day") != std::string::npos);
  CHECK(pages[0].find("class evening") == std::string::npos);
  CHECK(pages[2].find("Robin Fenn W") != std::string::npos);
  std::reverse(slips.begin(), slips.end());
  CHECK(pdf_of(slips) == pdf);
  CHECK(pdf_of(slips, "letter") != pdf);
}

TEST_CASE("the longest names there can be are wrapped, and nothing of them is lost") {
  std::string full_name;
  for (int i = 0; i < 30; ++i) full_name += "\u00d8n";
  const Slip slip{full_name, "class-of-16-long", "leader", "sixteen-letters.", "k7mwp9xq4t"};
  for (const char* paper : {"a4", "letter"}) {
    const auto pages = pages_of(pdf_of({slip}, paper));
    REQUIRE(pages.size() == 1);
    std::string letters = pages[0];
    std::erase_if(letters, [](char c) { return c == ' ' || c == '\n'; });
    CAPTURE(letters);
    CHECK(letters.find(full_name) != std::string::npos);
    CHECK(letters.find("class-of-16-long,leader") != std::string::npos);
    CHECK(letters.find("Namesixteen-letters.") != std::string::npos);
  }
}
