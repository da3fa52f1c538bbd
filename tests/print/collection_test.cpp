#include "print/collection.h"

#include <filesystem>
#include <fstream>

#include <catch2/catch.hpp>

#include "print/pdf_binding.h"
#include "print/pdf_text.h"
#include "tests/print/printing.h"
#include "tests/print/tools.h"
#include "tests/support/open_spool.h"
#include "tests/support/test_volume.h"

using namespace stationer;
using namespace stationer::print;
using test::TestVolume;

namespace {

struct Evening {
  TestVolume room;
  std::unique_ptr<Spool> spool;
  fs::Caller robin, wren, sorrel;

  Evening() {
    TestVolume::done(room.people().add_class(room.keeper, "tuesday"));
    robin = room.add("robin", fs::Role::member, "tuesday");
    wren = room.add("wren", fs::Role::member, "tuesday");
    sorrel = room.add("sorrel", fs::Role::leader, "tuesday");
    spool = test::open_spool(*room.volume);
  }

  void print(const fs::Caller& owner, std::string_view text, const std::string& title) {
    auto job = spool->receive("", title, owner.account, "", "test");
    REQUIRE(job);
    REQUIRE(job->write(text));
    REQUIRE(job->finish());
    REQUIRE(spool->print_next());
    *room.now += std::chrono::minutes(5);
  }

  fs::Result<Collected> collect(const fs::Caller& caller, const fs::PrintoutFilter& filter,
                                std::string& pdf) {
    pdf.clear();
    return collect_printouts(*room.volume, caller, filter,
                             [&](std::string_view bytes) -> fs::Status {
                               pdf += bytes;
                               return {};
                             });
  }
};

std::vector<std::string> pages_of(const std::string& pdf) {
  std::vector<std::string> out;
  const auto read = each_page_text(
      [&]() -> fs::Result<fs::Content> {
        return fs::Content(std::make_shared<const std::string>(pdf));
      },
      [&](std::string_view text) -> fs::Status {
        out.emplace_back(text);
        return {};
      });
  if (!read) FAIL(read.error().message);
  return out;
}

}  // namespace

TEST_CASE("a class's printouts become one PDF, person by person, with contents") {
  ::setenv("TZ", "UTC", 1);
  ::tzset();
  Evening evening;
  evening.print(evening.wren, "First of wren's\r\n\fits second page\r\n", "letter");
  evening.print(evening.robin, "Caf\xc3\xa9 of robin's\r\n", "Caf\xc3\xa9");
  evening.print(evening.wren, "Second of wren's\r\n", "tides");
  evening.print({}, "Nobody's\r\n", "lost");
  std::string pdf;
  const auto collected = evening.collect(evening.room.keeper, {.klass = "tuesday"}, pdf);
  if (!collected) FAIL(collected.error().message);
  CHECK(collected->printouts == 3);
  CHECK(collected->pages == 5);
  CHECK(collected->missing.empty());
  const auto pages = pages_of(pdf);
  REQUIRE(pages.size() == 5);
  const auto without_dots = [](const std::string& page) {
    std::string out;
    for (const char c : page) {
      if (c != '.' || !out.ends_with('.')) out += c;
    }
    return out;
  };
  CHECK(without_dots(pages[0]) ==
        "Printouts of the class tuesday\n"
        "printed from 2027-01-15 08:00 to 2027-01-15 08:10\n"
        "robin\n"
        "2027-01-15 08:05 Caf\xc3\xa9 . 2\n"
        "wren\n"
        "2027-01-15 08:00 letter . 3\n"
        "2027-01-15 08:10 tides . 5\n");
  CHECK(pages[1] == "Caf\xc3\xa9 of robin's\n");
  CHECK(pages[3] == "its second page\n");
  CHECK(pages[4] == "Second of wren's\n");

  // The same bytes again, whenever that is.
  std::string again;
  *evening.room.now += std::chrono::hours(100);
  REQUIRE(evening.collect(evening.room.keeper, {.klass = "tuesday"}, again));
  CHECK(again == pdf);
  // A leader gets what they look after; a member their own.
  REQUIRE(evening.collect(evening.sorrel, {}, again));
  CHECK(pages_of(again).size() == 5);
  REQUIRE(evening.collect(evening.robin, {}, again));
  CHECK(pages_of(again).size() == 2);
  // Those of nobody come last.
  REQUIRE(evening.collect(evening.room.keeper, {}, again));
  CHECK(pages_of(again).back() == "Nobody's\n");
  const auto none = evening.collect(evening.robin, {.owner = "wren"}, again);
  REQUIRE_FALSE(none);
  CHECK(none.error().code == fs::Code::not_found);
}

TEST_CASE("what is collected is a sound PDF with an outline, for others' programs too") {
  Evening evening;
  evening.print(evening.wren, "one\r\n", "a (b) \\ c");
  evening.print(evening.robin, "two\r\n", "\xc3\xa9tude");
  std::string pdf;
  REQUIRE(evening.collect(evening.room.keeper, {}, pdf));
  const auto checked = test::run_on(pdf, "qpdf --check %");
  INFO(checked.out);
  CHECK(checked.exit == 0);
  const std::string text = test::run_on(pdf, "pdftotext -layout % -").out;
  CHECK(text.find("two") < text.find("one"));
  const std::string outline = test::run_on(pdf, "mutool show % outline").out;
  for (const char* title : {"Contents", "robin", "\xc3\xa9tude", "wren", "a (b) \\\\ c"}) {
    INFO(outline);
    CHECK(outline.find(title) != std::string::npos);
  }
  // What makes it PDF/A-2u is still there: ISO 19005-2 sections 6.1.3, 6.2.3 and 6.6.4.
  CHECK(pdf.starts_with("%PDF-1.7\n%"));
  CHECK(pdf.find("/OutputIntents") != std::string::npos);
  CHECK(pdf.find("<pdfaid:part>2</pdfaid:part>") != std::string::npos);
  CHECK(pdf.find("/ID ") != std::string::npos);
  CHECK(pdf.find("/Encrypt") == std::string::npos);
}

TEST_CASE("printouts that can't be read are told of, and the rest is collected") {
  Evening evening;
  evening.print(evening.robin, "one\r\n", "first");
  evening.print(evening.robin, "two\r\n", "second");
  const auto path = [&](std::uint32_t job) {
    return evening.room.path() + "/" + evening.room.desk().printout(evening.room.keeper, job)->path;
  };
  std::ofstream(path(1), std::ios::trunc) << "no PDF";
  std::string pdf;
  auto collected = evening.collect(evening.robin, {}, pdf);
  REQUIRE(collected);
  CHECK(collected->printouts == 1);
  CHECK(collected->missing == std::vector<std::string>{"Printout 1, \"first\", can't be read."});
  CHECK(pages_of(pdf)[0].find("can't be read") != std::string::npos);
  std::filesystem::remove(path(2));
  collected = evening.collect(evening.robin, {}, pdf);
  REQUIRE_FALSE(collected);
  CHECK(collected.error().code == fs::Code::not_found);
}

TEST_CASE("contents of several pages number what is behind them rightly") {
  ::setenv("TZ", "UTC", 1);
  ::tzset();
  Evening evening;
  evening.print(evening.robin, "a page\r\n", "n0");
  const auto first = evening.room.desk().printout(evening.robin, 1);
  REQUIRE(first);
  for (std::uint32_t i = 1; i < 70; ++i) {
    fs::Printout printout;
    printout.job = 1 + i;
    printout.owner = evening.robin.account;
    printout.queue = "paper";
    printout.title = "n" + std::to_string(i);
    printout.pages = 1;
    printout.printed = *evening.room.now;
    printout.path = first->path;
    TestVolume::done(evening.room.desk().add_printouts({printout}));
  }
  std::string pdf;
  REQUIRE(evening.collect(evening.robin, {}, pdf));
  const auto pages = pages_of(pdf);
  REQUIRE(pages.size() == 72);
  CHECK(pages[0].find("n0 ") != std::string::npos);
  CHECK(pages[0].find(". 3\n") != std::string::npos);
  CHECK(pages[1].find(". 72\n") != std::string::npos);
}

TEST_CASE("a collection stops with its sink") {
  Evening evening;
  evening.print(evening.robin, "one\r\n", "first");
  const auto full = collect_printouts(*evening.room.volume, evening.robin, {},
                                      [](std::string_view) -> fs::Status {
                                        return fs::Error{fs::Code::no_space, "The disk is full."};
                                      });
  REQUIRE_FALSE(full);
  CHECK(full.error().code == fs::Code::no_space);
}

TEST_CASE("pages are counted, and what is no PDF is told") {
  const auto from = [](std::string bytes) -> OpenContent {
    return [bytes = std::move(bytes)]() -> fs::Result<fs::Content> {
      return fs::Content(std::make_shared<const std::string>(bytes));
    };
  };
  CHECK(count_pages(from(test::pdf_of("one\r\n\ftwo\r\n", test::settings("plain-80")))).value() ==
        2);
  CHECK(count_pages(from("no PDF")).error().code == fs::Code::damaged);
}
