#include "tests/print/pages.h"

#include <fmt/format.h>

namespace stationer::test {

using namespace print;

std::string utf_8(std::u32string_view text) {
  std::string out;
  for (const char32_t c : text) {
    const auto tail = [&out, c](int shift) {
      out += static_cast<char>(0x80 | (c >> shift & 0x3F));
    };
    if (c < 0x80) {
      out += static_cast<char>(c);
    } else if (c < 0x800) {
      out += static_cast<char>(0xC0 | c >> 6);
      tail(0);
    } else if (c < 0x10000) {
      out += static_cast<char>(0xE0 | c >> 12);
      tail(6);
      tail(0);
    } else {
      out += static_cast<char>(0xF0 | c >> 18);
      tail(12);
      tail(6);
      tail(0);
    }
  }
  return out;
}

namespace {

char letter(Style style) {
  switch (style) {
    case Style::plain: return '.';
    case Style::bold: return 'b';
    case Style::italic: return 'i';
    case Style::bold_italic: return 'B';
    case Style::outline: return 'o';
    case Style::shadow: return 's';
    case Style::unseen: return 'u';
  }
  return '?';
}

char letter(Ink ink) {
  return ".mcvyrg"[static_cast<int>(ink)];
}

constexpr std::uint32_t most_columns_shown = 80;

std::string dots(const Page& page, const Image& image) {
  std::string out;
  const std::span<const std::uint8_t> bits = page.bits(image);
  for (std::uint32_t row = 0; row < image.rows; ++row) {
    std::string line;
    for (std::uint32_t column = 0; column < image.columns; ++column) {
      const unsigned byte = bits[row * image.row_bytes() + column / 8];
      line += (byte >> (7 - column % 8) & 1) != 0 ? '#' : '.';
    }
    if (line.find('#') != std::string::npos) out += fmt::format("  |{}| row {}\n", line, row);
  }
  return out;
}

std::string characters(const Page& page, const Run& run) {
  std::u32string text;
  for (const Cell& cell : page.cells(run)) text += cell.character;
  return utf_8(text);
}

}  // namespace

std::string show(const Page& page) {
  std::string out;
  for (const Run& run : page.runs()) {
    std::string styles;
    std::string inks;
    for (const Cell& cell : page.cells(run)) {
      styles += letter(cell.style);
      inks += letter(cell.ink);
    }
    out += fmt::format("run {},{} cell {}x{} |{}|\n", run.x, run.baseline, run.size.pitch,
                       run.size.height, characters(page, run));
    if (styles.find_first_not_of('.') != std::string::npos)
      out += fmt::format("  style |{}|\n", styles);
    if (inks.find_first_not_of('.') != std::string::npos) out += fmt::format("  ink |{}|\n", inks);
  }
  for (const Mark& mark : page.marks()) {
    out += fmt::format("mark {},{} cell {}x{} |{}| {}\n", mark.x, mark.baseline, mark.size.pitch,
                       mark.size.height, utf_8({&mark.cell.character, 1}), letter(mark.cell.style));
  }
  for (const Rule& rule : page.rules()) {
    out += fmt::format("rule {},{} size {}x{}\n", rule.x, rule.y, rule.width, rule.height);
  }
  for (const Image& image : page.images()) {
    out += fmt::format("image {},{} dots {}x{} apart {},{}", image.x, image.y, image.columns,
                       image.rows, image.across, image.down);
    if (image.ink != Ink::black) out += fmt::format(" ink {}", letter(image.ink));
    out += "\n";
    if (image.columns <= most_columns_shown) out += dots(page, image);
  }
  return out;
}

std::string text_of(const Page& page) {
  std::string out;
  for (const Run& run : page.runs()) out += characters(page, run) + "\n";
  return out;
}

Form small_form(int columns, int lines) {
  Form form;
  form.paper = find_paper("fanfold-11").value();
  form.columns = columns;
  form.lines = lines;
  return form;
}

Printed print_pieces(const std::vector<std::string_view>& pieces, const PlainTextRules& rules,
                     const Form& form) {
  Printed out;
  PlainText text(rules, lay_out(form).value(), [&out](const Page& page) -> fs::Status {
    out.shown.push_back(show(page));
    out.text.push_back(text_of(page));
    return {};
  });
  for (const std::string_view piece : pieces) {
    if (out.status) out.status = text.feed(piece);
  }
  if (out.status) out.status = text.finish();
  out.report = text.report();
  return out;
}

}  // namespace stationer::test
