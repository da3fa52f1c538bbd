#include "print/settings.h"

#include <set>

using namespace stationer::print;
using stationer::fs::Code;

TEST_CASE("every printer profile fits its sheet, and its name says what it is") {
  std::set<std::string_view> names;
  for (const PrinterProfile& profile : printer_profiles()) {
    CAPTURE(profile.name);
    CHECK(names.insert(profile.name).second);
    CHECK_FALSE(profile.title.empty());
    CHECK(lay_out(profile.settings.form).has_value());
    CHECK(find_printer_profile(profile.name)->title == profile.title);
  }
  CHECK(lay_out(find_printer_profile("plain-80")->settings.form)->columns == 80);
  CHECK(lay_out(find_printer_profile("plain-132")->settings.form)->columns == 132);
  CHECK(lay_out(find_printer_profile("listing-132")->settings.form)->columns == 132);
  CHECK(lay_out(find_printer_profile("fanfold-12")->settings.form)->lines == 72);
}

TEST_CASE("an unknown printer profile is refused with the names there are") {
  const auto found = find_printer_profile("laser");
  REQUIRE(found.has_error());
  CHECK(found.error().code == Code::bad_input);
  CHECK_THAT(found.error().message, Catch::Contains("\"laser\"") && Catch::Contains("plain-80"));
}
