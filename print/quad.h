// Text of one line while it may still be moved: ECMA-48's QUAD (8.3.102) comes after the text that
// it sets to the left, in the middle, to the right or to both margins.
#pragma once

#include <cstdint>
#include <vector>

#include "print/strikes.h"

namespace stationer::print {

// Lines that go with a character, its blanks included.
struct Scores {
  bool under = false;
  bool under_twice = false;
  bool through = false;
  bool over = false;
};

class QuadText {
 public:
  enum class To : std::uint8_t { left, middle, right, both };

  // A line that is longer than any is settled where it stands.
  static constexpr std::size_t most = 4096;

  struct Letter {
    Units x = 0;
    Units baseline = 0;
    CellSize size;
    Cell cell;
    Scores scores;
  };

  bool empty() const { return letters_.empty(); }
  void add(const Letter& letter, Strikes& strikes);

  // Moves the text between `home` and `limit`; with `leader`, dots fill what is free. Gives where
  // it ends then. Text that is longer than the line stays. The
  // middle is at a whole pitch from `home`.
  Units move(To to, bool leader, Units home, Units limit);

  // Strikes it where it is now.
  void settle(Strikes& strikes);

 private:
  void spread(Units room);
  void fill(Units from, Units to);

  std::vector<Letter> letters_;
};

}  // namespace stationer::print
