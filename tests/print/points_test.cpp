#include "print/points.h"

#include <cmath>

using namespace stationer::print;

TEST_CASE("points are exact to a ten-thousandth") {
  for (Units length = -50'000; length <= 50'000; length += 7) {
    const double exact = length / 30.0;
    CHECK(std::abs(static_cast<double>(points_of_units(length)) / 10'000 - exact) <=
          0.5e-4 + 1e-12);
  }
  CHECK(points_of_units(inches(1, 10)) == 72'000);
  CHECK(points_of_units(inches(1, 6)) == 120'000);
  CHECK(points_of_micrometres(25'400) == 720'000);
  CHECK(points_of_micrometres(210'000) == 5'952'756);  // 595.27559
}

TEST_CASE("points are written short") {
  CHECK(text_of(0) == "0");
  CHECK(text_of(120'000) == "12");
  CHECK(text_of(5'952'756) == "595.2756");
  CHECK(text_of(5'000) == "0.5");
  CHECK(text_of(-5'000) == "-0.5");
  CHECK(text_of(-1) == "-0.0001");
  CHECK(text_of(10'010) == "1.001");
}
