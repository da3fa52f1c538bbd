#include "print/icc.h"

#include <cstdint>
#include <map>

using namespace stationer::print;

namespace {

std::uint32_t number(const std::string& bytes, std::size_t at) {
  std::uint32_t value = 0;
  for (std::size_t i = 0; i < 4; ++i) value = value << 8 | static_cast<std::uint8_t>(bytes[at + i]);
  return value;
}

}  // namespace

TEST_CASE("the gray profile has the form of a version 2 display profile") {
  // ICC.1:1998-09, from memory: the header's fields, the tags a monochrome display profile must
  // have.
  const std::string profile = gray_profile();
  CHECK(number(profile, 0) == profile.size());
  CHECK(number(profile, 8) == 0x02100000);
  CHECK(profile.substr(12, 12) == "mntrGRAYXYZ ");
  CHECK(profile.substr(36, 4) == "acsp");
  CHECK(number(profile, 68) == 0xF6D6);
  std::map<std::string, std::string> tags;
  for (std::size_t i = 0; i < number(profile, 128); ++i) {
    const std::size_t entry = 132 + 12 * i;
    const std::uint32_t offset = number(profile, entry + 4);
    CHECK(offset % 4 == 0);
    REQUIRE(offset + number(profile, entry + 8) <= profile.size());
    tags[profile.substr(entry, 4)] = profile.substr(offset, number(profile, entry + 8));
  }
  CHECK(tags.size() == 4);
  CHECK(tags["desc"].substr(0, 4) == "desc");
  CHECK(tags["desc"].size() == 12 + number(tags["desc"], 8) + 78);
  CHECK(tags["cprt"].substr(0, 4) == "text");
  CHECK(tags["wtpt"].size() == 20);
  CHECK(tags["kTRC"].substr(0, 4) == "curv");
  CHECK(number(tags["kTRC"], 8) == 1);
}
