#include "print/marker.h"

#include <catch2/catch.hpp>

using namespace stationer;
using namespace stationer::print;

namespace {

// The job as it comes out, with "|OFFSET|" for each marker, fed in two pieces or byte by byte.
std::string found(std::string_view job, std::size_t cut, std::string marker = "NEXT") {
  std::string out;
  MarkerFinder finder(
      std::move(marker),
      [&](std::string_view text) -> fs::Status {
        out += text;
        return {};
      },
      [&](std::uint64_t offset) -> fs::Status {
        out += "|" + std::to_string(offset) + "|";
        return {};
      });
  if (cut > job.size()) {
    for (const char& byte : job) REQUIRE(finder.feed({&byte, 1}));
  } else {
    REQUIRE(finder.feed(job.substr(0, cut)));
    REQUIRE(finder.feed(job.substr(cut)));
  }
  REQUIRE(finder.finish());
  return out;
}

}  // namespace

TEST_CASE("a line that says the marker and nothing else is found, cut at every offset") {
  const std::vector<std::pair<std::string, std::string>> expected = {
      {"one\nNEXT\ntwo\n", "one\n|9|two\n"},
      {"one\r\nNEXT\r\ntwo\r\n", "one\r\n|11|two\r\n"},
      {"one\rNEXT\rtwo\r", "one\r|9|two\r"},
      {"NEXT\nNEXT\n", "|5||10|"},
      {"NEXT\r\n\nNEXT\r", "|6|\n|12|"},
      {"\fNEXT\none", "\f|6|one"},
      {"one\nNEXT", "one\n|8|"},
      {"one\nNEX", "one\nNEX"},
      {"one\nNEXT two\n", "one\nNEXT two\n"},
      {"one NEXT\n NEXT\nNEXTNEXT\nNNEXT\n", "one NEXT\n NEXT\nNEXTNEXT\nNNEXT\n"},
      {"NEXT\rNEXT\n\n", "|5||10|\n"},
      {"", ""},
  };
  for (const auto& [job, out] : expected) {
    for (std::size_t cut = 0; cut <= job.size() + 1; ++cut) {
      INFO(job << " cut at " << cut);
      CHECK(found(job, cut) == out);
    }
  }
  CHECK(found("NEXT\n", 2, "") == "NEXT\n");
}

TEST_CASE("the failure of whoever takes what was found is told at once") {
  const fs::Error full{fs::Code::no_space, "The disk is full."};
  MarkerFinder no_text(
      "NEXT", [&](std::string_view) -> fs::Status { return full; },
      [](std::uint64_t) -> fs::Status { return {}; });
  CHECK_FALSE(no_text.feed("text"));
  MarkerFinder no_mark(
      "NEXT", [](std::string_view) -> fs::Status { return {}; },
      [&](std::uint64_t) -> fs::Status { return full; });
  CHECK_FALSE(no_mark.feed("NEXT\n"));
}
