#include "server/terminal/table.h"

#include <algorithm>
#include <numeric>

#include "fs/text.h"
#include "server/protocol/encoder.h"
#include "server/protocol/substitute.h"
#include "server/protocol/text_out.h"

namespace stationer::server {
namespace {

constexpr int wide = 60;                 // columns from which there is room between columns
constexpr std::size_t least_first = 12;  // what a column may shrink to before others have to go
constexpr std::size_t least_last = 24;
constexpr std::size_t least_at_all = 8;
constexpr std::size_t note_indent = 2;

std::size_t width_of(std::string_view text) {
  int width = 0;
  fs::each_character(text, [&](char32_t c) { width += cells(c); });
  return static_cast<std::size_t>(width);
}

std::vector<std::string> wrapped(std::string_view text, std::size_t width) {
  static const Encoder utf_8(print::Charset::utf_8);
  std::u32string characters;
  fs::each_character(text, [&](char32_t c) { characters += c; });
  std::vector<std::string> out;
  for (const auto& line : wrap(characters, static_cast<int>(std::max<std::size_t>(width, 1)))) {
    std::string& bytes = out.emplace_back();
    for (const char32_t c : line) utf_8.append(c, bytes);
  }
  return out;
}

void end_line(std::string& out) {
  while (!out.empty() && out.back() == ' ') out.pop_back();
  out += '\n';
}

void indent(std::size_t width, std::string& out) {
  out.append(width, ' ');
}

}  // namespace

void Table::add(std::vector<std::string> cells) {
  cells.resize(columns_.size());
  rows_.push_back({std::move(cells), {}});
}

void Table::note(std::string text) {
  rows_.back().notes.push_back(std::move(text));
}

Table::Layout Table::lay_out(int screen_columns) const {
  Layout layout;
  layout.gap = screen_columns >= wide ? 2 : 1;
  layout.room = static_cast<std::size_t>(std::max(screen_columns, 16)) - 1;
  for (std::size_t column = 0; column < columns_.size(); ++column) {
    const bool used = std::any_of(rows_.begin(), rows_.end(),
                                  [&](const Row& row) { return !row.cells[column].empty(); });
    if (used) layout.shown.push_back(column);
  }
  const auto natural = [&](std::size_t column) {
    std::size_t width = width_of(columns_[column].title);
    for (const Row& row : rows_) width = std::max(width, width_of(row.cells[column]));
    return width;
  };
  for (;;) {
    auto& widths = layout.widths;
    widths.clear();
    for (const std::size_t column : layout.shown) widths.push_back(natural(column));
    if (widths.size() < 2) return layout;
    const std::size_t needed = std::accumulate(widths.begin(), widths.end(), std::size_t{0}) +
                               layout.gap * (widths.size() - 1);
    if (needed <= layout.room) return layout;
    // The last column gives way first, then the first one.
    std::size_t excess = needed - layout.room;
    const auto shrink = [&excess](std::size_t& width, std::size_t least) {
      const std::size_t less = std::min(excess, width - std::min(width, least));
      width -= less;
      excess -= less;
    };
    shrink(widths.back(), least_last);
    shrink(widths.front(), least_first);
    if (excess == 0) return layout;
    const auto least_important =
        std::max_element(layout.shown.begin(), layout.shown.end(),
                         [&](auto a, auto b) { return columns_[a].rank < columns_[b].rank; });
    if (columns_[*least_important].rank == 0) {
      shrink(widths.back(), least_at_all);
      return layout;
    }
    layout.shown.erase(least_important);
  }
}

void Table::append_row(const std::vector<std::string_view>& cells, const Layout& layout,
                       std::string& out) const {
  std::size_t at = 0;
  const std::size_t last = cells.size() - 1;
  for (std::size_t i = 0; i <= last; ++i) {
    const std::size_t width = layout.widths[i];
    const std::size_t taken = width_of(cells[i]);
    if (i == last && i > 0) {
      bool first_line = true;
      for (const auto& line : wrapped(cells[i], width)) {
        if (!first_line) indent(at, out);
        first_line = false;
        const bool right = columns_[layout.shown[i]].right;
        if (right && taken < width) indent(width - taken, out);
        out += line;
        end_line(out);
      }
      return;
    }
    if (taken > width) {
      out += cells[i];
      end_line(out);
      if (i == last) return;
      indent(at + width, out);
    } else {
      if (columns_[layout.shown[i]].right) indent(width - taken, out);
      out += cells[i];
      if (!columns_[layout.shown[i]].right) indent(width - taken, out);
    }
    indent(layout.gap, out);
    at += width + layout.gap;
  }
  end_line(out);
}

std::string Table::text(int screen_columns) const {
  const Layout layout = lay_out(screen_columns);
  std::string out;
  if (layout.shown.empty()) return out;
  const auto append = [&](const auto& cell_of) {
    std::vector<std::string_view> cells;
    for (const std::size_t column : layout.shown) cells.push_back(cell_of(column));
    append_row(cells, layout, out);
  };
  const bool titled = std::any_of(layout.shown.begin(), layout.shown.end(),
                                  [&](auto column) { return !columns_[column].title.empty(); });
  if (titled && layout.shown.size() > 1) {
    append([&](std::size_t column) { return columns_[column].title; });
  }
  for (const Row& row : rows_) {
    append([&](std::size_t column) { return std::string_view(row.cells[column]); });
    for (const auto& note : row.notes) {
      for (const auto& line : wrapped(note, layout.room - note_indent)) {
        indent(note_indent, out);
        out += line;
        end_line(out);
      }
    }
  }
  return out;
}

}  // namespace stationer::server
