#include "fs/result.h"

#include <set>
#include <string>

#include <catch2/catch.hpp>

using namespace stationer::fs;

TEST_CASE("every error code has a name of its own") {
  std::set<std::string> names;
  for (int code = 0; code <= static_cast<int>(Code::io); ++code) {
    names.insert(code_name(static_cast<Code>(code)));
  }
  CHECK(names.size() == static_cast<size_t>(Code::io) + 1);
  CHECK(names.count("unknown") == 0);
}

TEST_CASE("taking the value of a failed result is a bug and throws") {
  const Result<int> failed = Error{Code::io, "the disk said no"};
  CHECK_FALSE(failed.has_value());
  CHECK_THROWS_AS(failed.value(), std::logic_error);
}
