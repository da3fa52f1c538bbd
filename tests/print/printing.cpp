#include "tests/print/printing.h"

#include <algorithm>

#include "print/pdf_writer.h"
#include "print/raster.h"

namespace stationer::test {

using namespace print;

const Fonts& fonts() {
  static const Fonts loaded = Fonts::load().value();
  return loaded;
}

Settings settings(std::string_view profile) {
  return find_printer_profile(profile).value().settings;
}

Metadata metadata() {
  Metadata about;
  about.title = "Ledger (May)";
  about.owner = "robin";
  about.origin = "station 1.7, queue listing";
  about.job = "job-0017";
  about.created = std::chrono::sys_days(std::chrono::year(2026) / 5 / 17) + std::chrono::hours(9);
  return about;
}

ByteSink to(std::string& out) {
  return [&out](std::string_view bytes) -> fs::Status {
    out += bytes;
    return {};
  };
}

std::string pdf_of(std::string_view bytes, const Settings& settings, const Metadata& about) {
  std::string out;
  const ByteSource source = [&bytes](std::span<char> room) -> fs::Result<std::size_t> {
    const std::size_t size = std::min(room.size(), bytes.size());
    std::copy_n(bytes.begin(), size, room.begin());
    bytes.remove_prefix(size);
    return size;
  };
  render(source, settings, about, fonts(), to(out)).value();
  return out;
}

std::string pdf_of(const std::vector<Page>& pages, std::string_view paper, const Dress& dress) {
  std::string out;
  PdfWriter writer(fonts(), find_paper(paper).value(), metadata(), to(out), dress);
  for (const Page& page : pages) writer.add(page).value();
  writer.finish().value();
  return out;
}

std::vector<Cell> cells(std::u32string_view text, Style style, Ink ink) {
  std::vector<Cell> out;
  for (const char32_t character : text) out.push_back({character, style, ink});
  return out;
}

namespace {

constexpr CellSize ten = {inches(1, 10), inches(1, 6)};

}  // namespace

Page page_with_everything() {
  constexpr Units left = 8 * ten.pitch;
  Page page;
  Units line = 0;
  const auto write = [&](const std::vector<Cell>& text, CellSize size = ten) {
    page.add_run(left, ++line * ten.height, size, text);
  };
  for (const Style style : {Style::plain, Style::bold, Style::italic, Style::bold_italic,
                            Style::outline, Style::shadow, Style::outline | Style::shadow}) {
    write(cells(U"Sluice and wheel", style));
  }
  write(cells(U"red and ", Style::plain, Ink::red));
  write(cells(U"green, hollow", Style::outline, Ink::green));
  write(cells(U"\u250C\u2500\u2510 \u2591\u2588 \u00E9\u00DF\u20AC\u03B1 \u6F22"));
  write(cells(U"wide"), {2 * ten.pitch, ten.height});
  write(cells(U"narrow"), {inches(7, 120), ten.height});
  ++line;
  write(cells(U"high"), {2 * ten.pitch, 2 * ten.height});
  write(cells(U"above"), {inches(7, 120), ten.height / 2});
  page.add_mark({left, 1000, ten, {U'/', Style::bold, Ink::violet}});
  page.add_mark({left + 216, 1000, ten, {U'\u00E9', Style::italic}});
  page.add_rule({left, 1020, 20 * ten.pitch, 15});
  page.add_rule({left, 1040, 20 * ten.pitch, 15, Ink::magenta});
  page.add_rule({left, 1100, 15, 1000, Ink::magenta});
  Raster nine;
  Raster fine(needle_of_24);
  for (Units band = 0; band < 4; ++band) {
    std::vector<std::uint8_t> columns(120);
    for (std::size_t i = 0; i < columns.size(); ++i) columns[i] = static_cast<std::uint8_t>(i * 7);
    nine.add(Band{left, 9000 + 240 * band, inches(1, 120), inches(1, 72), 120, 1, Ink::black},
             columns);
    nine.add(Band{left + 5000, 9000 + 240 * band, inches(1, 60), inches(1, 72), 120, 1, Ink::cyan},
             columns);
    nine.add(
        Band{left + 5018, 9015 + 240 * band, inches(1, 60), inches(1, 72), 120, 1, Ink::yellow},
        columns);
    fine.add(Band{left, 12'000 + 288 * band, inches(1, 180), inches(1, 180), 40, 3, Ink::black},
             columns);
  }
  nine.give_to(page);
  fine.give_to(page);
  return page;
}

}  // namespace stationer::test
