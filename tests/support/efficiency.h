// How fast our machines carry files to each other, beside what the framing of their protocol
// permits on such a line: no computing time, and nothing waits that the protocol does not make
// wait.
#pragma once

#include <chrono>
#include <string>
#include <vector>

namespace stationer::tests {

struct Efficiency {
  std::string what;                 // "xmodem", "kermit, 20 small files", …
  double bits_a_second;             // ten of which are a byte
  std::chrono::milliseconds delay;  // of the line, one way
  std::size_t bytes;                // of files
  double seconds;                   // that it took, in simulated time
  double permitted;                 // seconds that the framing needs

  double of_framing() const { return permitted / seconds; }
  double of_line() const { return static_cast<double>(bytes) * 10 / bits_a_second / seconds; }
};

// Every protocol at 1,200, 9,600 and 115,200 bit/s over lines without delay and with.
std::vector<Efficiency> measure_efficiency();

}  // namespace stationer::tests
