#include "print/raster.h"

#include <random>
#include <set>
#include <tuple>

#include "tests/support/catch.h"

using namespace stationer;
using namespace stationer::print;

namespace {

using Dot = std::tuple<Ink, Units, Units>;
using Dots = std::set<Dot>;

// By the definition of a column's bytes, dot by dot.
void strike(Dots& dots, const Band& band, const std::vector<std::uint8_t>& columns) {
  for (std::uint32_t column = 0; column < band.columns; ++column) {
    const Units x = band.x + static_cast<Units>(column) * band.across;
    const auto byte = [&](unsigned number) {
      return columns[std::size_t{column} * band.column_bytes + number];
    };
    const auto at = [&](unsigned row) {
      dots.emplace(band.ink, x, band.y + static_cast<Units>(row) * band.down);
    };
    for (unsigned row = 0; row < (band.column_bytes == 2 ? 8 : 8 * band.column_bytes); ++row) {
      if ((byte(row / 8) & 0x80 >> row % 8) != 0) at(row);
    }
    if (band.column_bytes == 2 && (byte(1) & 1) != 0) at(8);
  }
}

Dots dots_of(const Page& page) {
  Dots dots;
  for (const Image& image : page.images()) {
    const auto bits = page.bits(image);
    for (std::uint32_t row = 0; row < image.rows; ++row) {
      for (std::uint32_t column = 0; column < 8 * image.row_bytes(); ++column) {
        if ((bits[row * image.row_bytes() + column / 8] & 0x80 >> column % 8) == 0) continue;
        REQUIRE(column < image.columns);
        dots.emplace(image.ink, image.x + static_cast<Units>(column) * image.across,
                     image.y + static_cast<Units>(row) * image.down);
      }
    }
  }
  return dots;
}

// A 9-pin band of 60 dots to the inch.
Band band(Units x, Units y, std::uint32_t columns) {
  return {x, y, inches(1, 60), inches(1, 72), columns, 1, Ink::black};
}

std::vector<std::uint8_t> full(std::size_t size) {
  return std::vector<std::uint8_t>(size, 0xFF);
}

}  // namespace

TEST_CASE("bands of eight rows one below the other become one picture") {
  Raster raster;
  for (Units line = 0; line < 5; ++line) {
    raster.add(band(216, 15 + line * 240, 480), full(480));
  }
  CHECK_FALSE(raster.empty());
  Page page;
  raster.give_to(page);
  CHECK(raster.empty());
  REQUIRE(page.images().size() == 1);
  const Image& image = page.images()[0];
  CHECK(image.x == 216);
  CHECK(image.y == 15);
  CHECK(image.across == 36);
  CHECK(image.down == 30);
  CHECK(image.columns == 480);
  CHECK(image.rows == 40);
  CHECK(image.needle == needle_of_nine);
}

TEST_CASE("a second pass half a dot lower doubles the density") {
  Raster raster(needle_of_24);
  raster.add(band(0, 0, 10), full(10));
  raster.add(band(0, 15, 10), full(10));
  raster.add(band(18, 0, 10), full(10));
  Page page;
  raster.give_to(page);
  REQUIRE(page.images().size() == 1);
  const Image& image = page.images()[0];
  CHECK(image.across == 18);
  CHECK(image.down == 15);
  CHECK(image.columns == 20);
  CHECK(image.rows == 16);
  CHECK(image.needle == needle_of_24);
}

TEST_CASE("a band sent in single columns is one picture") {
  Raster raster;
  for (Units column = 0; column < 200; ++column) raster.add(band(column * 36, 0, 1), full(1));
  Page page;
  raster.give_to(page);
  REQUIRE(page.images().size() == 1);
  CHECK(page.images()[0].columns == 200);
  CHECK(page.images()[0].rows == 8);
}

TEST_CASE("what doesn't touch, or has another ink, is a picture of its own") {
  Raster raster;
  raster.add(band(0, 0, 10), full(10));
  raster.add(band(0, 300, 10), full(10));
  raster.add(band(500, 0, 10), full(10));
  Band red = band(0, 0, 10);
  red.ink = Ink::red;
  raster.add(red, full(10));
  Page page;
  raster.give_to(page);
  CHECK(page.images().size() == 4);
  CHECK(page.images()[3].ink == Ink::red);
}

TEST_CASE("blank bands are nothing") {
  Raster raster;
  raster.add(band(0, 0, 10), std::vector<std::uint8_t>(10));
  raster.add(band(0, 0, 0), {});
  Page page;
  raster.give_to(page);
  CHECK(page.empty());
}

TEST_CASE("dots that come row by row join those that come in columns") {
  Raster raster;
  raster.add(band(0, 0, 16), full(16));
  const Image rows{0, 240, 36, 30, 12, 2};
  raster.add(rows, std::vector<std::uint8_t>{0xFF, 0xFF, 0x00, 0x1F});
  Page page;
  raster.give_to(page);
  REQUIRE(page.images().size() == 1);
  CHECK(page.images()[0].rows == 10);
  // Twelve dots and one: what stands after the last column is none.
  CHECK(dots_of(page).size() == 16 * 8 + 12 + 1);
}

TEST_CASE("random passes give exactly the dots that were struck") {
  std::mt19937 random(2160);
  const auto below = [&random](unsigned limit) { return static_cast<unsigned>(random() % limit); };
  const std::vector<Units> pitches = {6, 9, 12, 15, 18, 24, 27, 30, 36};
  for (int round = 0; round < 200; ++round) {
    Raster raster;
    Dots expected;
    for (unsigned i = below(30); i > 0; --i) {
      Band one;
      one.across = pitches[below(9)];
      one.down = pitches[below(9)];
      one.x = static_cast<Units>(below(2000)) * (round % 2 == 0 ? 3 : 1) - 100;
      one.y = static_cast<Units>(below(2000)) * (round % 2 == 0 ? 3 : 1);
      one.columns = below(40);
      one.column_bytes = std::vector<unsigned>{1, 2, 3, 6}[below(4)];
      one.ink = below(4) == 0 ? Ink::red : Ink::black;
      for (unsigned passes = below(4); passes > 0; --passes) {
        std::vector<std::uint8_t> columns(std::size_t{one.columns} * one.column_bytes);
        for (auto& byte : columns) byte = static_cast<std::uint8_t>(random() & random());
        raster.add(one, columns);
        strike(expected, one, columns);
        // Beside it, below it or into its gaps.
        switch (below(3)) {
          case 0: one.x += static_cast<Units>(one.columns) * one.across; break;
          case 1: one.y += static_cast<Units>(one.column_bytes * 8) * one.down; break;
          default: one.y += one.down / 3;
        }
      }
    }
    Page page;
    raster.give_to(page);
    CHECK(dots_of(page) == expected);
  }
  CHECK(Raster().dropped() == 0);
}

TEST_CASE("pictures far apart, or on grids that don't agree, don't make a huge one") {
  // A line of full width, and a dot beside its end whose place is whole only in u.
  Raster raster;
  raster.add(band(0, 0, 480), full(480));
  raster.add(band(17'281, 1, 1), full(1));
  for (Units line = 0; line < 99; ++line) raster.add(band(line * 36, line * 240, 480), full(480));
  Page page;
  raster.give_to(page);
  std::size_t bytes = 0;
  for (const Image& image : page.images()) bytes += image.row_bytes() * image.rows;
  CHECK(bytes < 4 * 100 * 480 + (16 << 10));
}

TEST_CASE("passes beyond the bound are put together, and dropped only when that doesn't help") {
  // The same sheet of 8 x 11 in at 240 x 72, three hundred times: 570 KiB each.
  Raster again;
  for (int pass = 0; pass < 60; ++pass) {
    for (Units line = 0; line < 99; ++line) {
      Band one = band(0, line * 240, 1920);
      one.across = 9;
      again.add(one, full(1920));
    }
  }
  Page page;
  again.give_to(page);
  CHECK(again.dropped() == 0);
  REQUIRE(page.images().size() == 1);
  CHECK(page.images()[0].rows == 792);

  // Single dots all over the place.
  Raster dust;
  for (Units y = 0; y < 120; ++y) {
    for (Units x = 0; x < 120; ++x) dust.add(band(x * 251, y * 2003, 1), full(1));
  }
  page.clear();
  dust.give_to(page);
  CHECK(dust.dropped() > 0);
  CHECK(page.images().size() <= Raster::most_bands);
  std::size_t bytes = 0;
  for (const Image& image : page.images()) bytes += image.row_bytes() * image.rows;
  CHECK(bytes <= Raster::most_bytes);

  // Afterwards there is room again.
  page.clear();
  dust.add(band(0, 0, 3), full(3));
  dust.give_to(page);
  CHECK(page.images().size() == 1);
}

TEST_CASE("dots that stand nowhere are dropped and counted") {
  Raster raster;
  Band far = band(2'000'000'000, 0, 10);
  raster.add(far, full(10));
  const Image none{0, 0, 0, 30, 8, 1};
  raster.add(none, full(1));
  const Image huge{0, 0, 1, 1, 65'535, 700};
  raster.add(huge, std::vector<std::uint8_t>(huge.row_bytes() * huge.rows, 1));
  Page page;
  raster.give_to(page);
  CHECK(page.empty());
  CHECK(raster.dropped() == 3);
}
