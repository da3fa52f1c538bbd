#include "print/language.h"

#include <catch2/catch.hpp>

using namespace stationer;
using namespace stationer::print;

TEST_CASE("languages go by the names that settings write") {
  for (const LanguageName& each : languages()) {
    CAPTURE(each.name);
    CHECK(name_of(each.language) == each.name);
    CHECK(find_language(each.name).value() == each.language);
  }
  const auto none = find_language("owl");
  REQUIRE(none.has_error());
  CHECK(none.error().code == fs::Code::bad_input);
  CHECK(none.error().message ==
        "There is no printer language called \"owl\". Choose one of: text, listing, "
        "nine-pin, 24-pin, ecma-48.");
}
