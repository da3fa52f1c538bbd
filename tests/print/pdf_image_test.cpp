#include "print/pdf_image.h"

#include <cmath>
#include <random>
#include <regex>
#include <set>

#include "print/raster.h"
#include "tests/print/pdf_reader.h"
#include "tests/print/printing.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;

namespace {

constexpr Dress round_dots = {Look::dots, false, false, 1};

Page page_of(const Image& image, const std::vector<std::uint8_t>& bits) {
  Page page;
  page.add_image(image, bits);
  return page;
}

// A dot's middle, in u from the top left.
using Dot = std::pair<Units, Units>;

std::set<Dot> dots_of(const Page& page) {
  std::set<Dot> out;
  for (const Image& image : page.images()) {
    const auto bits = page.bits(image);
    for (std::uint32_t row = 0; row < image.rows; ++row) {
      for (std::uint32_t column = 0; column < image.columns; ++column) {
        if ((bits[row * image.row_bytes() + column / 8] & 0x80 >> column % 8) != 0) {
          out.emplace(image.x + static_cast<Units>(column) * image.across,
                      image.y + static_cast<Units>(row) * image.down);
        }
      }
    }
  }
  return out;
}

// The middles of the cells that some masks leave open, by the operators that place them.
std::set<Dot> cells_of(const PdfReader& reader, const std::string& operators, double height) {
  std::set<Dot> out;
  const std::regex mask("([0-9.]+) 0 0 ([0-9.]+) (-?[0-9.]+) (-?[0-9.]+) cm /I([0-9]+) Do");
  for (auto at = std::sregex_iterator(operators.begin(), operators.end(), mask);
       at != std::sregex_iterator(); ++at) {
    const int number = std::stoi((*at)[5]);
    const std::string entries = reader.object(number);
    const int columns = PdfReader::target(entries, "/Width");
    const int rows = PdfReader::target(entries, "/Height");
    const std::string bits = reader.stream(number);
    const double wide = std::stod((*at)[1]) / columns;
    const double high = std::stod((*at)[2]) / rows;
    const double left = std::stod((*at)[3]);
    const double top = height - std::stod((*at)[4]) - high * rows;
    for (int row = 0; row < rows; ++row) {
      for (int column = 0; column < columns; ++column) {
        const char byte = bits[static_cast<std::size_t>(row * ((columns + 7) / 8) + column / 8)];
        if ((byte & 0x80 >> column % 8) == 0) continue;
        out.emplace(std::lround((left + (column + 0.5) * wide) * units_per_point),
                    std::lround((top + (row + 0.5) * high) * units_per_point));
      }
    }
  }
  return out;
}

}  // namespace

TEST_CASE("an image is a mask whose cells have their middles where the needles struck") {
  // Three dots in a row at 1/60 inch and one below: a needle of 1/72 inch is one cell.
  const Image image{216, 300, inches(1, 60), inches(1, 72), 3, 2};
  const PdfReader reader(pdf_of({page_of(image, {0xE0, 0x40})}));
  const int page = reader.pages()[0];
  // From 198 u, half a column before the first: 6.6 points. From the top 285 u and 60 down.
  CHECK_THAT(reader.content(page), Catch::Contains("q 3.6 0 0 2 6.6 780.5 cm /I"));
  const auto masks = reader.with("/ImageMask true");
  REQUIRE(masks.size() == 1);
  CHECK(PdfReader::value(reader.object(masks[0]), "/Width") == "3");
  CHECK(PdfReader::value(reader.object(masks[0]), "/Decode") == "[1 0]");
  CHECK(reader.stream(masks[0]) == "\xE0\x40");
}

TEST_CASE("in the plain look a dot is as wide as its needle") {
  // At 1/240 inch a needle of 1/72 covers three columns.
  const Image image{2160, 300, inches(1, 240), inches(1, 216), 12, 1};
  const PdfReader reader(pdf_of({page_of(image, {0x80, 0x10})}));
  const int mask = reader.with("/ImageMask true").at(0);
  CHECK(PdfReader::value(reader.object(mask), "/Width") == "14");
  CHECK(PdfReader::value(reader.object(mask), "/Height") == "3");
  CHECK(reader.stream(mask) == "\xE0\x1C\xE0\x1C\xE0\x1C");
  // 2160 u less a column and a half, in points: 72 - 13.5/30. 300 u less a row and a half.
  CHECK_THAT(reader.content(reader.pages()[0]), Catch::Contains("q 4.2 0 0 1 71.55 781.5 cm"));
}

TEST_CASE("in the dot look each dot has a disc for itself, in masks that don't touch") {
  std::mt19937 random(72);
  const std::vector<Units> pitches = {6, 9, 12, 15, 18, 30, 36};
  for (int round = 0; round < 30; ++round) {
    Page page;
    Image image;
    image.x = static_cast<Units>(random() % 10'000);
    image.y = static_cast<Units>(random() % 10'000);
    image.across = pitches[random() % pitches.size()];
    image.down = pitches[random() % pitches.size()];
    image.columns = 1 + static_cast<std::uint32_t>(random() % 40);
    image.rows = 1 + static_cast<std::uint32_t>(random() % 20);
    image.needle = round % 2 == 0 ? needle_of_nine : needle_of_24;
    std::vector<std::uint8_t> bits(image.row_bytes() * image.rows);
    for (auto& byte : bits) byte = static_cast<std::uint8_t>(random());
    page.add_image(image, bits);
    const PdfReader reader(pdf_of({page}, "fanfold-11", round_dots));
    std::string operators;
    for (const int form : reader.with("/Subtype/Form")) operators += reader.stream(form);
    CAPTURE(image.across, image.down, image.columns, image.rows);
    CHECK(cells_of(reader, operators, 792) == dots_of(page));
    // Discs of the needle's size, no closer than that, one of them at a dot.
    for (const int pattern : reader.with("/PatternType 1")) {
      const std::string entries = reader.object(pattern);
      CHECK(std::stoi(PdfReader::value(entries, "/XStep")) >= image.needle);
      CHECK(std::stoi(PdfReader::value(entries, "/YStep")) >= image.needle);
      CHECK_THAT(reader.stream(pattern), Catch::StartsWith("1 J " + std::to_string(image.needle)));
    }
  }
}

TEST_CASE("patterns of discs lie on the dots") {
  // Two images of one grid, whole steps apart, share their pattern.
  Page page;
  const std::vector<std::uint8_t> bits(4, 0xFF);
  page.add_image({216, 300, 36, 30, 8, 4}, bits);
  page.add_image({216 + 36 * 100, 300 + 30 * 100, 36, 30, 8, 4}, bits);
  const PdfReader reader(pdf_of({page}, "fanfold-11", round_dots));
  const auto patterns = reader.with("/PatternType 1");
  REQUIRE(patterns.size() == 1);
  // 216 u is a multiple of 36, 300 u of 30: a disc at the corner.
  CHECK(PdfReader::value(reader.object(patterns[0]), "/Matrix") == "[.0333333 0 0 .0333333 0 792]");
}

TEST_CASE("images with inks mix with others and not with themselves") {
  Page page;
  Image image{216, 300, 18, 30, 16, 1, Ink::cyan};
  page.add_image(image, std::vector<std::uint8_t>{0xFF, 0xFF});
  const PdfReader plain(pdf_of({page}));
  CHECK_THAT(plain.content(plain.pages()[0]), Catch::StartsWith("/M gs\nq /C cs "));
  CHECK_THAT(plain.object(plain.pages()[0]), Catch::Contains("/Group<</S/Transparency/CS "));
  const PdfReader round(pdf_of({page}, "fanfold-11", round_dots));
  const auto forms = round.with("/Subtype/Form");
  REQUIRE(forms.size() == 1);
  CHECK_THAT(round.object(forms[0]), Catch::Contains("/Group<</S/Transparency>>"));
  CHECK(round.with("/PatternType 1").size() == 2);
}

TEST_CASE("a thousand pages with images are as large as their images") {
  // The objects of a page's images are its own, so a long job's page lists no others.
  std::vector<Page> pages(50, page_of({216, 300, 36, 30, 8, 1}, {0xFF}));
  const PdfReader reader(pdf_of(pages));
  for (const int page : reader.pages()) CHECK(reader.object(page).size() < 150);
}
