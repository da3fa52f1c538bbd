#include "print/profile.h"

#include <algorithm>
#include <set>

using namespace stationer::print;
using stationer::fs::Code;

namespace {

std::string complaint(const std::string& settings) {
  auto printers = read_printers(settings);
  return printers ? "none" : printers.error().message;
}

}  // namespace

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
  CHECK(lay_out(find_printer_profile("24-pin-136")->settings.form)->columns == 136);
  CHECK(lay_out(find_printer_profile("daisy-wheel-12")->settings.form)->cell.pitch == 180);
  CHECK(find_printer_profile("nine-pin-80")->settings.text.charset == Charset::cp437);
  CHECK(find_printer_profile("line-printer-132")->settings.language == Language::listing);
  CHECK(find_printer_profile("nine-pin-80")->settings.language == Language::nine_pin);
  CHECK(find_printer_profile("24-pin-136")->settings.language == Language::twenty_four);
  CHECK(find_printer_profile("ecma-48-80")->settings.language == Language::ecma48);
}

TEST_CASE("an unknown printer profile is refused with the names there are") {
  const auto found = find_printer_profile("laser");
  REQUIRE(found.has_error());
  CHECK(found.error().code == Code::bad_input);
  CHECK_THAT(found.error().message, Catch::Contains("\"laser\"") && Catch::Contains("plain-80"));
}

TEST_CASE("a profile that is written says all there is, and reads back the same") {
  for (const PrinterProfile& profile : printer_profiles()) {
    const std::string text = write_profile(profile);
    CAPTURE(text);
    CHECK(write_profile(read_profile("copy", text).value()) == text);
  }
  PrinterProfile odd = find_printer_profile("plain-80").value();
  odd.title = "The \"quick\" one \\ in the corner";
  odd.settings.form.left = 2;
  odd.settings.form.top = 1;
  odd.settings.form.skip = 6;
  odd.settings.form.line = inches(1, 8);
  odd.settings.text.return_feeds = true;
  odd.settings.listing = {1, {7, 14}};
  odd.settings.dots.near_letter_quality = true;
  odd.settings.dots.drop_neighbours = true;
  const PrinterProfile back = read_profile("odd", write_profile(odd)).value();
  CHECK(write_profile(back) == write_profile(odd));
  CHECK(back.title == odd.title);
  CHECK(back.settings.form.left == 2);
  CHECK(back.settings.form.line == 270);
  CHECK(back.settings.text.return_feeds);
  CHECK(back.settings.listing.minus_lines == 1);
  CHECK(back.settings.dots.near_letter_quality);
  CHECK(back.settings.dots.drop_neighbours);
  CHECK(back.settings.listing.channels == std::vector<int>{7, 14});
}

TEST_CASE("the keeper's printers are like a ready-made one, or said in full") {
  const auto printers = read_printers(
      "[printer.office]\nlike = \"daisy-wheel-12\"\ncharset = \"iso646-de\"\nleft = 4\n"
      "columns = 60\nreturn_feeds = true\n"
      "[printer.hall]\ntitle = \"In the hall\"\npaper = \"letter\"\npitch = 17.14\n"
      "lines_an_inch = 8\nskip = 3\n");
  REQUIRE(printers);
  REQUIRE(printers->size() == printer_profiles().size() + 2);
  const PrinterProfile& hall = *(printers->end() - 2);  // by name
  CHECK(hall.name == "hall");
  CHECK(hall.title == "In the hall");
  CHECK(hall.settings.form.pitch == 126);
  CHECK(lay_out(hall.settings.form)->lines == 85);
  const PrinterProfile& office = printers->back();
  CHECK(office.title == "Daisy wheel printer, 12 to the inch, on A4");
  CHECK(office.settings.form.pitch == 180);
  CHECK(lay_out(office.settings.form)->left == 4 * 180);
  CHECK(office.settings.text.charset == Charset::iso646_de);
  CHECK(office.settings.text.return_feeds);
}

TEST_CASE("what can't be right about a printer is told with its line") {
  const auto says = [](const std::string& settings, const std::string& line,
                       const std::string& words) {
    CAPTURE(settings);
    CHECK_THAT(complaint("[printer.hall]\n" + settings),
               Catch::StartsWith("volume.toml, line " + line + ": ") && Catch::Contains(words));
  };
  says("", "1", "what paper");
  says("like = \"laser\"", "2", "Choose one of: plain-80");
  says("like = 3", "2", "like must be a text");
  says("paper = \"a4\"\ntitle = 3", "3", "title must be a text");
  says("\npaper = \"vellum\"", "3", "fanfold-11");
  says("paper = \"a4\"\ncharset = \"runes\"", "3", "cp437");
  says("paper = \"a4\"\nlanguage = \"owl\"", "3", "text, listing");
  says("paper = \"a4\"\npitch = 11", "3", "17.14");
  says("paper = \"a4\"\npitch = \"10\"", "3", "pitch must be a number");
  says("paper = \"a4\"\nlines_an_inch = 7", "3", "6, 8");
  says("paper = \"a4\"\ncolumns = 1001", "3", "columns must be a whole number from 0 to 1000");
  says("paper = \"a4\"\nskip = -1", "3", "skip must be");
  says("paper = \"a4\"\nseven_bits = 1", "3", "seven_bits must be true or false");
  says("paper = \"a4\"\nminus_lines = 4", "3", "from 1 to 3");
  says("paper = \"a4\"\nchannels = 4", "3", "as in [10, 20]");
  says("paper = \"a4\"\nchannels = [\n4,\n0]", "5", "as in [10, 20]");
  says("paper = \"a4\"\nweight = 80", "3", "there is no setting \"weight\" in [printer.hall]");
  says("paper = \"a4\"\ncolumns = 90", "1", "don't fit");
  CHECK_THAT(complaint("[printer.plain-80]\nlike = \"plain-80\""), Catch::Contains("ready-made"));
  CHECK_THAT(complaint("[printer.Hall]\npaper = \"a4\""), Catch::Contains("small letters"));
  CHECK_THAT(complaint("printer = 1"), Catch::Contains("line 1"));
  CHECK_THAT(complaint("[printer]\nhall = 1"), Catch::Contains("line 2"));
}

TEST_CASE("a printer says how its pages look") {
  const auto printers = read_printers(
      "[printer.room]\nlike = \"fanfold-11\"\nlook = \"dots\"\nbars = true\nedges = true\n"
      "pages_a_sheet = 2\n"
      "[printer.wide]\nlike = \"plain-80\"\nlandscape = true\ncolumns = 110\n");
  REQUIRE(printers);
  const auto find = [&](std::string_view name) {
    return std::find_if(printers->begin(), printers->end(),
                        [&](const PrinterProfile& each) { return each.name == name; });
  };
  const Settings& room = find("room")->settings;
  CHECK(room.dress.look == Look::dots);
  CHECK(room.dress.bars);
  CHECK(room.dress.edges);
  CHECK(room.dress.pages_a_sheet == 2);
  // Turned, it has the columns it says and as many lines as fit.
  const Settings& wide = find("wide")->settings;
  CHECK(wide.form.landscape);
  CHECK(lay_out(wide.form)->columns == 110);
  CHECK(lay_out(wide.form)->lines == 49);  // 210 mm at 6 lines an inch
}

TEST_CASE("a printer whose paper can't be dressed so is refused with the line") {
  for (const char* wrong : {"edges = true", "look = \"glossy\"", "pages_a_sheet = 3", "bars = 1"}) {
    CAPTURE(wrong);
    const auto printers =
        read_printers("[printer.room]\nlike = \"plain-80\"\n" + std::string(wrong));
    REQUIRE_FALSE(printers);
    CHECK_THAT(printers.error().message, Catch::StartsWith("volume.toml, line "));
  }
  CHECK_FALSE(read_printers("[printer.room]\nlike = \"fanfold-11\"\nlandscape = true\n"));
}
