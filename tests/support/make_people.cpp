// make_people ROWS SEED FILE: writes a list of people with every oddity (odd_people.h), and says
// how many of its rows are good and how many wrong.
#include <cstdlib>
#include <fstream>
#include <iostream>

#include "tests/support/odd_people.h"

int main(int count, char** words) {
  if (count != 4) return 2;
  const auto people =
      stationer::test::odd_people(static_cast<std::size_t>(std::strtoul(words[1], nullptr, 10)),
                                  static_cast<std::uint32_t>(std::strtoul(words[2], nullptr, 10)));
  std::ofstream(words[3], std::ios::binary) << people.list;
  std::cout << people.good << ' ' << people.wrong << '\n';
  return 0;
}
