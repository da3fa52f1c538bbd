#include "print/pdf_text.h"

#include <algorithm>
#include <random>

#include <catch2/catch.hpp>

#include "fs/text.h"
#include "print/charset.h"
#include "tests/print/printing.h"

using namespace stationer;
using namespace stationer::print;

namespace {

fs::Result<std::vector<std::string>> texts(const std::string& pdf) {
  std::vector<std::string> out;
  auto read = each_page_text(
      [&]() -> fs::Result<fs::Content> {
        return fs::Content(std::make_shared<const std::string>(pdf));
      },
      [&](std::string_view text) -> fs::Status {
        out.emplace_back(text);
        return {};
      });
  if (!read) return read.error();
  return out;
}

std::vector<std::string> texts_of(std::string_view bytes, const Settings& settings) {
  auto out = texts(test::pdf_of(bytes, settings));
  if (!out) FAIL(out.error().message);
  return *out;
}

// As the reader gives a line: without blanks around it, and with one between words.
std::string squeezed(std::string_view line) {
  std::string out;
  for (const char c : line) {
    if (c != ' ' || (!out.empty() && out.back() != ' ')) out += c;
  }
  while (out.ends_with(' ')) out.pop_back();
  return out;
}

}  // namespace

TEST_CASE("the text of a printout comes back line by line and page by page") {
  const auto pages =
      texts_of("  Tide   table (spring) \\ 1\r\n\r\nHigh water\t3:15\r\n\f\r\nSecond page\r\n",
               test::settings("plain-80"));
  REQUIRE(pages.size() == 2);
  CHECK(pages[0] == "Tide table (spring) \\ 1\nHigh water 3:15\n");
  CHECK(pages[1] == "Second page\n");
}

TEST_CASE("what is struck twice, underlined or overstruck reads as what it shows") {
  const auto pages =
      texts_of("bo\bold and ___\b\b\bsea, wave\b/ and on\r\nnext\r\n", test::settings("plain-80"));
  REQUIRE(pages.size() == 1);
  CHECK(pages[0] == "bold and sea, wave and on\nnext\n");
}

TEST_CASE("random listings of every ready-made profile read as they were sent") {
  std::mt19937 random(7);
  const auto below = [&](int limit) {
    return static_cast<int>(random() % static_cast<unsigned>(limit));
  };
  for (const PrinterProfile& profile : printer_profiles()) {
    if (profile.settings.language != Language::text) continue;
    INFO(profile.name);
    for (int round = 0; round < 3; ++round) {
      std::string bytes, expected;
      for (int i = 0; i < 40; ++i) {
        std::string line(static_cast<std::size_t>(below(20)), ' ');
        while (line.size() < 70 && below(6) != 0) {
          for (int n = below(9); n >= 0; --n) line += static_cast<char>('!' + below(94));
          line += std::string(static_cast<std::size_t>(1 + below(3)), ' ');
        }
        bytes += line + "\r\n";
        const std::string plain = squeezed(line);
        if (!plain.empty()) expected += plain + "\n";
      }
      Settings settings = profile.settings;
      settings.text.charset = Charset::ascii;
      std::string all;
      for (const auto& page : texts_of(bytes, settings)) all += page;
      CHECK(all == expected);
    }
  }
}

TEST_CASE("characters beyond ASCII read as they were sent") {
  Settings settings = test::settings("plain-80");
  settings.text.charset = Charset::utf_8;
  const std::string line =
      "Caf\u00e9 \u2500\u2502\u2588 \u0416\u0443\u043a \u20ac \u03c0 \u00df na\u00efve";
  const auto pages = texts_of(line + "\n", settings);
  REQUIRE(pages.size() == 1);
  CHECK(pages[0] == line + "\n");
}

TEST_CASE("a blank page has no text") {
  const auto pages = texts(test::pdf_of(std::vector<Page>(1)));
  REQUIRE(pages);
  REQUIRE(pages->size() == 1);
  CHECK((*pages)[0].empty());
}

TEST_CASE("what is no PDF of ours is told as damage, whatever it is") {
  const std::string pdf = test::pdf_of("Dear Wren\r\n", test::settings("plain-80"));
  for (const std::string& bytes : {std::string(), std::string("%PDF-1.7\n"), std::string(5000, 'x'),
                                   pdf.substr(0, pdf.size() / 2), pdf.substr(100)}) {
    const auto pages = texts(bytes);
    REQUIRE_FALSE(pages);
    CHECK(pages.error().code == fs::Code::damaged);
  }
  // Any byte may be wrong: it is read, or told.
  std::mt19937 random(3);
  for (int i = 0; i < 300; ++i) {
    std::string damaged = pdf;
    for (int n = 0; n < 3; ++n) damaged[random() % damaged.size()] = static_cast<char>(random());
    const auto pages = texts(damaged);
    if (!pages) CHECK(pages.error().code == fs::Code::damaged);
  }
}

TEST_CASE("a file that can't be opened or read says why") {
  const auto gone = each_page_text(
      []() -> fs::Result<fs::Content> {
        return fs::Error{fs::Code::io, "The disk is gone."};
      },
      [](std::string_view) -> fs::Status { return {}; });
  REQUIRE_FALSE(gone);
  CHECK(gone.error().code == fs::Code::io);
  CHECK(gone.error().message == "The disk is gone.");
  const std::string pdf = test::pdf_of("Dear Wren\r\n", test::settings("plain-80"));
  const auto stopped = each_page_text(
      [&]() -> fs::Result<fs::Content> {
        return fs::Content(std::make_shared<const std::string>(pdf));
      },
      [](std::string_view) -> fs::Status {
        return fs::Error{fs::Code::busy, "Enough."};
      });
  REQUIRE_FALSE(stopped);
  CHECK(stopped.error().message == "Enough.");
}
