// Lists of people with every oddity that lists have, by a seed: for tests of taking people in.
#pragma once

#include <cstdint>
#include <string>

namespace stationer::test {

struct OddPeople {
  std::string list;      // the file's bytes
  std::size_t good = 0;  // rows that can be taken in, all of them new in an empty volume
  std::size_t wrong = 0;
};

// About so many rows. The seed decides the character set, the separator, the line ends and the
// order of the columns, too: from 0 on all there are come in turn.
OddPeople odd_people(std::size_t rows, std::uint32_t seed);

}  // namespace stationer::test
