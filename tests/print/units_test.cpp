#include "print/units.h"

#include <numeric>

using namespace stationer::print;

TEST_CASE("a unit of 1/2160 inch holds every feed and density of printers exactly") {
  // ESC/P Reference Manual (1997): line spacings of n/60, n/72, n/180, n/216 and n/360 inch, dots
  // of 60 to 360 to the inch; 1/48 inch is the other trade's line feed. ECMA-48 8.3.137: 1/720
  // inch.
  for (const int part : {48, 60, 72, 80, 90, 120, 144, 180, 216, 240, 360, 720}) {
    CAPTURE(part);
    CHECK(units_per_inch % part == 0);
  }
  // No smaller unit would do for feeds of 1/216 and 1/360 with dots of 1/720 and 1/144 inch.
  CHECK(std::lcm(std::lcm(216, 360), std::lcm(720, 144)) == units_per_inch);
  // ESC/P 2, ESC ( U: units of m/3600 inch for these m.
  for (const int m : {5, 10, 20, 30, 40, 50, 60}) CHECK(m * units_per_inch % 3600 == 0);
}

TEST_CASE("pitches and line spacings are whole units") {
  struct Case {
    Units units;
    double points;
  };
  // Points by arithmetic: 72 over the number to the inch.
  const Case cases[] = {{inches(1, 5), 14.4}, {inches(1, 6), 12},   {inches(1, 10), 7.2},
                        {inches(1, 12), 6},   {inches(1, 15), 4.8}, {inches(7, 120), 4.2},
                        {inches(1, 20), 3.6}, {inches(1, 24), 3},   {inches(1, 8), 9},
                        {inches(7, 72), 7}};
  for (const Case& one : cases) CHECK(one.units == Approx(one.points * units_per_point));
  CHECK(inches(1, 10) == 216);
  CHECK(inches(7, 120) == 126);
  CHECK(inches(1, 6) == 360);
  CHECK(inches(1, 8) == 270);
}
