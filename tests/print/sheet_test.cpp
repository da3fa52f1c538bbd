#include "print/sheet.h"

#include <algorithm>

#include "print/interpreters.h"
#include "tests/print/pages.h"
#include "tests/print/printing.h"
#include "tests/print/tools.h"

using namespace stationer;
using namespace stationer::print;
using namespace stationer::test;

namespace {

// Each page's text by lines and columns of the form, blanks at the ends dropped.
struct SheetPages {
  std::vector<std::vector<std::u32string>> pages;
  JobReport report;
};

SheetPages print_sheet(const PrinterProfile& profile) {
  SheetPages out;
  const Layout layout = lay_out(profile.settings.form).value();
  const auto machine =
      make_interpreter(profile.settings, layout, [&](const Page& page) -> fs::Status {
        std::vector<std::u32string> lines(static_cast<std::size_t>(layout.lines));
        for (const Run& run : page.runs()) {
          const Units down = run.baseline - layout.baseline(0);
          const Units right = run.x - layout.left;
          if (down % layout.cell.height != 0 || run.size != layout.cell) continue;
          if (right % layout.cell.pitch != 0) continue;  // behind what is of another width
          std::u32string& line = lines.at(static_cast<std::size_t>(down / layout.cell.height));
          const auto column = static_cast<std::size_t>(right / layout.cell.pitch);
          line.resize(std::max(line.size(), column + run.count), U' ');
          for (std::size_t i = 0; i < run.count; ++i) {
            if (page.cells(run)[i].character != U' ') {
              line[column + i] = page.cells(run)[i].character;
            }
          }
        }
        out.pages.push_back(std::move(lines));
        return {};
      });
  REQUIRE(machine->feed(calibration_sheet(profile)));
  REQUIRE(machine->finish());
  out.report = machine->report();
  return out;
}

PrinterProfile changed(std::string_view name, Charset charset) {
  PrinterProfile profile = find_printer_profile(name).value();
  profile.settings.text.charset = charset;
  return profile;
}

// All of its characters that show, in their order.
std::u32string characters_of(Charset charset) {
  std::u32string out;
  for (unsigned byte = 0x21; byte < 0x100; ++byte) {
    const char32_t character = Decoder(charset).put(static_cast<std::uint8_t>(byte)).at[0];
    const bool control = character < 0x20 || (character >= 0x7F && character <= 0x9F);
    if (!control && character != replacement_character && character != 0xA0) out += character;
  }
  return out;
}

// What stands in the table of characters: behind a number of two digits of hex, each by itself.
std::u32string table_of(const SheetPages& printed) {
  std::u32string out;
  for (const auto& page : printed.pages) {
    for (std::u32string line : page) {
      line.resize(std::max<std::size_t>(line.size(), 10), U' ');
      const std::u32string label = line.substr(0, 10).substr(4);
      if (label.find_first_not_of(U"0123456789ABCDEF ") != label.npos || !label.ends_with(U"  ") ||
          label.starts_with(U' ')) {
        continue;
      }
      for (std::size_t i = 10; i + 1 < line.size(); i += 2) {
        if (line[i] != U' ') out += line[i];
      }
    }
  }
  return out;
}

}  // namespace

TEST_CASE("each printer's sheet has rulers at its edges and a number at each line") {
  for (const PrinterProfile& profile : printer_profiles()) {
    CAPTURE(profile.name);
    const Layout layout = lay_out(profile.settings.form).value();
    const SheetPages printed = print_sheet(profile);
    REQUIRE_FALSE(printed.pages.empty());
    for (const auto& page : printed.pages) {
      const std::u32string& units = page.at(1);
      CHECK(units.size() == static_cast<std::size_t>(layout.columns));
      CHECK(units.substr(0, 12) == U"123456789012");
      CHECK(page.front().substr(0, 20) == U"         1         2");
      CHECK(page.back() == units);
      for (std::size_t line = 2; line + 1 < page.size(); ++line) {
        CHECK(page[line].size() == units.size());
        CHECK(page[line].back() == U'!');
        const std::string number = std::to_string(line + 1);
        CHECK(page[line].substr(0, number.size()) == std::u32string(number.begin(), number.end()));
      }
    }
    CHECK(printed.report.unknown_controls == 0);
    CHECK(printed.report.unreadable == 0);
    CHECK(printed.report.escape_sequences == 0);
    CHECK(printed.report.blots == 0);
  }
}

TEST_CASE("a sheet shows every character of its set") {
  for (const CharsetName& set : charsets()) {
    if (set.charset == Charset::utf_8) continue;
    CAPTURE(set.name);
    for (const char* name : {"plain-80", "line-printer-132", "ecma-48-80"}) {
      CHECK(table_of(print_sheet(changed(name, set.charset))) == characters_of(set.charset));
    }
  }
  const std::u32string unicode = table_of(print_sheet(find_printer_profile("plain-80").value()));
  for (const char32_t character : std::u32string_view(U"é€Ž╬▓♥"))
    CHECK(unicode.find(character) != unicode.npos);
}

TEST_CASE("a sheet shows what is bold and underlined, in whatever language") {
  for (const char* name : {"plain-80", "line-printer-132", "ecma-48-80"}) {
    CAPTURE(name);
    const PrinterProfile profile = find_printer_profile(name).value();
    std::string shown;
    const auto machine = make_interpreter(profile.settings, lay_out(profile.settings.form).value(),
                                          [&](const Page& page) -> fs::Status {
                                            shown += show(page);
                                            return {};
                                          });
    REQUIRE(machine->feed(calibration_sheet(profile)));
    REQUIRE(machine->finish());
    CHECK_THAT(shown, Catch::Contains("bbbb") && Catch::Contains("rule ") &&
                          Catch::Contains("accents éöç, not equal ≠"));
  }
}

TEST_CASE("a form that is narrow or low has a sheet of several pages, or without rulers") {
  PrinterProfile narrow = changed("plain-80", Charset::iso646_de);
  narrow.settings.form.columns = 24;
  narrow.settings.form.lines = 20;
  const SheetPages printed = print_sheet(narrow);
  CHECK(printed.pages.size() == 3);
  CHECK(table_of(printed) == characters_of(Charset::iso646_de));
  narrow.settings.form.columns = 1;
  narrow.settings.form.lines = 1;
  CHECK(print_sheet(narrow).pages[0][0] == U"!");
}

TEST_CASE("a printer that feeds at each return has a sheet with returns alone") {
  PrinterProfile profile = find_printer_profile("plain-80").value();
  profile.settings.text.return_feeds = true;
  CHECK(calibration_sheet(profile).find('\n') == std::string::npos);
  CHECK(print_sheet(profile).pages == print_sheet(find_printer_profile("plain-80").value()).pages);
}

TEST_CASE("the text of a sheet comes back out of its PDF") {
  const PrinterProfile profile = changed("plain-80", Charset::cp437);
  const auto pages = columns_of(pdf_of(calibration_sheet(profile), profile.settings), "7.2");
  REQUIRE(pages.size() == 1);
  const auto has = [&](const std::string& text) {
    return std::any_of(pages[0].begin(), pages[0].end(), [&](const std::string& line) {
      return line.find(text) != std::string::npos;
    });
  };
  CHECK(has("Characters  cp437"));
  CHECK(has("C0    └ ┴ ┬ ├ ─ ┼ ╞ ╟ ╚ ╔ ╩ ╦ ╠ ═ ╬ ╧"));
}
