#include "admin/console/grid.h"

#include <algorithm>

#include "admin/report.h"
#include "fs/text.h"
#include "server/protocol/encoder.h"
#include "server/protocol/substitute.h"
#include "server/protocol/text_out.h"

namespace stationer::admin::console {
namespace {

constexpr char32_t more_sign = U'…';

std::string utf_8(std::u32string_view characters) {
  static const server::Encoder encoder(print::Charset::utf_8);
  std::string out;
  for (const char32_t c : characters) encoder.append(c, out);
  return out;
}

int width_of_harmless(std::string_view text) {
  int width = 0;
  fs::each_character(text, [&](char32_t c) { width += server::cells(c); });
  return width;
}

}  // namespace

int width_of(std::string_view text) {
  return width_of_harmless(printable(text));
}

std::vector<std::string> wrapped(std::string_view text, int columns) {
  const std::string harmless = printable(text);
  std::u32string characters;
  fs::each_character(harmless, [&](char32_t c) { characters += c; });
  std::vector<std::string> out;
  for (const auto& line : server::wrap(characters, std::max(columns, 1))) {
    out.push_back(utf_8(line));
  }
  return out;
}

Grid::Grid(int columns, int lines)
    : columns_(std::max(columns, 1)),
      lines_(std::max(lines, 1)),
      cells_(static_cast<std::size_t>(columns_) * static_cast<std::size_t>(lines_)) {}

void Grid::set(int x, int y, const Cell& cell) {
  Cell& old = cells_[index(x, y)];
  // No half of a wide character stays behind.
  if (old.character == 0 && x > 0 && cell.character != 0) cells_[index(x - 1, y)].character = ' ';
  if (x + 1 < columns_ && cells_[index(x + 1, y)].character == 0) {
    cells_[index(x + 1, y)].character = ' ';
  }
  old = cell;
}

int Grid::put(int x, int y, std::string_view text, Look look, int width) {
  if (y < 0 || y >= lines_ || x < 0 || x >= columns_ || width <= 0) return 0;
  width = std::min(width, columns_ - x);
  const std::string harmless = printable(text);
  const bool cut = width_of_harmless(harmless) > width;
  const int room = cut ? width - 1 : width;
  int used = 0;
  bool full = false;
  fs::each_character(harmless, [&](char32_t c) {
    const int cells = server::cells(c);
    if (full) return;
    if (cells == 0) {
      if (used == 0) return;
      Cell* before = &cells_[index(x + used - 1, y)];
      if (before->character == 0 && used > 1) before = &cells_[index(x + used - 2, y)];
      if (before->mark == 0) before->mark = c;
      return;
    }
    if (used + cells > room) {
      full = true;
      return;
    }
    set(x + used, y, {c, 0, look});
    if (cells == 2) set(x + used + 1, y, {0, 0, look});
    used += cells;
  });
  if (!cut) return used;
  // A wide character may have left one cell more.
  for (; used < width; ++used) {
    set(x + used, y, {used + 1 == width ? more_sign : U' ', 0, look});
  }
  return used;
}

int Grid::put_right(int x, int y, std::string_view text, Look look, int width) {
  const int free = std::max(0, width - width_of(text));
  return put(x + free, y, text, look, width - free);
}

void Grid::fill(const Area& area, Look look) {
  for (int y = std::max(area.y, 0); y < std::min(area.y + area.lines, lines_); ++y) {
    for (int x = std::max(area.x, 0); x < std::min(area.x + area.columns, columns_); ++x) {
      set(x, y, {' ', 0, look});
    }
  }
}

Area Grid::frame(const Area& area, std::string_view title) {
  fill(area);
  const int right = area.x + area.columns - 1;
  const int bottom = area.y + area.lines - 1;
  for (int x = area.x + 1; x < right; ++x) {
    put(x, area.y, "─");
    put(x, bottom, "─");
  }
  for (int y = area.y + 1; y < bottom; ++y) {
    put(area.x, y, "│");
    put(right, y, "│");
  }
  put(area.x, area.y, "┌");
  put(right, area.y, "┐");
  put(area.x, bottom, "└");
  put(right, bottom, "┘");
  if (!title.empty()) {
    const int used = put(area.x + 3, area.y, title, Look::strong, area.columns - 6);
    put(area.x + 2, area.y, " ");
    put(area.x + 3 + used, area.y, " ");
  }
  return {area.x + 2, area.y + 1, area.columns - 4, area.lines - 2};
}

std::string Grid::line(int y) const {
  std::u32string characters;
  for (int x = 0; x < columns_; ++x) {
    const Cell& cell = at(x, y);
    if (cell.character == 0) continue;
    characters += cell.character;
    if (cell.mark != 0) characters += cell.mark;
  }
  while (!characters.empty() && characters.back() == ' ') characters.pop_back();
  return utf_8(characters);
}

}  // namespace stationer::admin::console
