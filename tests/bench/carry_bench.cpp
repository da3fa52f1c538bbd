// How fast files are carried, by simulated time: beside what the protocol's framing permits, and
// beside the line's own rate. tests/support/efficiency.cpp has the formulas.
//
//   carry_bench
#include <fmt/format.h>

#include "tests/support/efficiency.h"

int main() {
  fmt::print("{:<26} {:>8} {:>6} {:>9} {:>9} {:>10} {:>8}\n", "", "bit/s", "delay", "seconds",
             "permitted", "of framing", "of line");
  for (const auto& row : stationer::tests::measure_efficiency()) {
    fmt::print("{:<26} {:>8} {:>6} {:>9.2f} {:>9.2f} {:>10.3f} {:>8.3f}\n", row.what,
               row.bits_a_second, row.delay.count(), row.seconds, row.permitted, row.of_framing(),
               row.of_line());
  }
}
