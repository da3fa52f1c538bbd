#include "print/leaflet.h"

#include <algorithm>
#include <array>
#include <utility>

#include "fs/text.h"
#include "fs/utf8.h"

namespace stationer::print {
namespace {

struct Face {
  CellSize size;
  Style style;
};

// 16, 12, 10 and 6 characters to the inch; 8, 6, 5 and 3 lines.
constexpr std::array faces{Face{{inches(1, 16), inches(1, 8)}, Style::plain},
                           Face{{inches(1, 12), inches(1, 6)}, Style::plain},
                           Face{{inches(1, 10), inches(1, 5)}, Style::bold},
                           Face{{inches(1, 6), inches(1, 3)}, Style::bold}};

const Face& face_of(Type type) {
  return faces.at(static_cast<std::size_t>(type));
}

// How far below a line's top its baseline is.
Units ascent_of(Type type) {
  return line_of(type) * 3 / 4;
}

constexpr Units dash = inches(1, 18);
constexpr Units gap = inches(1, 18);

bool prints(char32_t c) {
  return c >= U' ' && c != 0x7F && (c < 0x80 || c >= 0xA0);
}

std::u32string characters_of(std::string_view text) {
  std::u32string out;
  if (fs::is_utf8(text)) {
    fs::each_character(text, [&](char32_t c) { out += prints(c) || c == U'\n' ? c : U' '; });
    return out;
  }
  for (const char byte : text) {
    const auto c = static_cast<unsigned char>(byte);
    out += c >= 0x80 ? U'?' : prints(c) || c == '\n' ? char32_t{c} : U' ';
  }
  return out;
}

std::string utf8_of(std::u32string_view text) {
  std::string out;
  for (const char32_t c : text) fs::append_utf8(out, c);
  return out;
}

// How much of `rest` makes a line, and where the one after it begins.
std::pair<std::size_t, std::size_t> first_line(std::u32string_view rest, std::size_t columns) {
  const std::size_t feed = rest.find(U'\n');
  const std::size_t end = std::min(feed, rest.size());
  if (end <= columns) return {end, std::min(end + 1, rest.size())};
  // The blank that parts two words may itself be past the edge.
  const std::size_t blank = rest.substr(0, columns + 1).rfind(U' ');
  const std::size_t word = blank == rest.npos ? blank : rest.find_last_not_of(U' ', blank);
  if (word == rest.npos) return {columns, columns};
  const std::size_t next = rest.find_first_not_of(U' ', blank);
  return {word + 1, next == rest.npos ? rest.size() : next};
}

}  // namespace

Units pitch_of(Type type) {
  return face_of(type).size.pitch;
}

Units line_of(Type type) {
  return face_of(type).size.height;
}

std::size_t columns_in(Units width, Type type) {
  return width < 0 ? 0 : static_cast<std::size_t>(width / pitch_of(type));
}

std::vector<std::string> wrapped(std::string_view text, std::size_t columns) {
  const std::u32string all = characters_of(text);
  std::u32string_view rest = all;
  std::vector<std::string> lines;
  do {
    const auto [length, next] = first_line(rest, std::max<std::size_t>(columns, 1));
    lines.push_back(utf8_of(rest.substr(0, length)));
    rest.remove_prefix(next);
  } while (!rest.empty());
  return lines;
}

Leaflet::Leaflet(const Fonts& fonts, const Paper& paper, Metadata about, ByteSink sink)
    : paper_(paper), writer_(fonts, paper, std::move(about), std::move(sink)) {}

void Leaflet::text(Units x, Units baseline, Type type, std::string_view line, Style style) {
  std::vector<Cell> cells;
  for (const char32_t c : characters_of(line)) {
    cells.push_back({c == U'\n' ? U' ' : c, face_of(type).style | style});
  }
  if (!cells.empty()) page_.add_run(x, baseline, face_of(type).size, cells);
}

Units Leaflet::paragraph(Units x, Units top, Units width, Type type, std::string_view text,
                         Style style) {
  for (const std::string& line : wrapped(text, columns_in(width, type))) {
    this->text(x, top + ascent_of(type), type, line, style);
    top += line_of(type);
  }
  return top;
}

void Leaflet::rule(Units x, Units y, Units width, Units height) {
  page_.add_rule({x, y, width, height});
}

void Leaflet::frame(Units x, Units y, Units width, Units height, Units thickness) {
  rule(x, y, width, thickness);
  rule(x, y + height - thickness, width, thickness);
  rule(x, y, thickness, height);
  rule(x + width - thickness, y, thickness, height);
}

void Leaflet::cut_across(Units y, Units from, Units to) {
  for (Units x = from; x < to; x += dash + gap) rule(x, y, std::min(dash, to - x), hairline);
}

void Leaflet::cut_down(Units x, Units from, Units to) {
  for (Units y = from; y < to; y += dash + gap) rule(x, y, hairline, std::min(dash, to - y));
}

fs::Status Leaflet::next_page() {
  fs::Status added = writer_.add(page_);
  page_.clear();
  return added;
}

fs::Status Leaflet::finish() {
  if (!page_.empty()) {
    if (fs::Status added = next_page(); !added) return added;
  }
  return writer_.finish();
}

}  // namespace stationer::print
