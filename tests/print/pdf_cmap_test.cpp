#include "print/pdf_cmap.h"

#include <algorithm>
#include <regex>

using namespace stationer::print;

TEST_CASE("codes map to CIDs row by row") {
  CHECK_THAT(cid_cmap("Name", {'a', 'b'}),
             Catch::Contains("/CMapName /Name def") &&
                 Catch::Contains("1 begincidrange\n<00> <7F> 0\nendcidrange\n"));
  CHECK_THAT(cid_cmap("Name", {'a', 0x8000, 0x8001, 0x80FF, 0x8100, 0x9000}),
             Catch::Contains("4 begincidrange\n<00> <7F> 0\n<8000> <80FF> 32768\n"
                             "<8100> <81FF> 33024\n<9000> <90FF> 36864\nendcidrange\n"));
}

TEST_CASE("codes map to Unicode as UTF-16") {
  CHECK_THAT(unicode_cmap({{'a', U'a'}, {0x8001, U'€'}, {0x8002, U'\U0001F600'}}),
             Catch::Contains("3 beginbfchar\n<61> <0061>\n<8001> <20AC>\n<8002> <D83DDE00>\n"
                             "endbfchar\n"));
}

TEST_CASE("character maps are split into blocks of a hundred") {
  std::vector<std::pair<std::uint16_t, char32_t>> characters;
  for (std::uint16_t i = 0; i < 250; ++i) characters.emplace_back(0x8000 + i, 0x4E00 + i);
  const std::string map = unicode_cmap(characters);
  const std::regex block("([0-9]+) beginbfchar\n((?:<.*\n)*)endbfchar");
  std::vector<long> counts;
  for (auto at = std::sregex_iterator(map.begin(), map.end(), block); at != std::sregex_iterator();
       ++at) {
    const std::string lines = (*at)[2];
    counts.push_back(std::count(lines.begin(), lines.end(), '\n'));
    CHECK(std::to_string(counts.back()) == (*at)[1]);
  }
  CHECK(counts == std::vector<long>{100, 100, 50});
}
