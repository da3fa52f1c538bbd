#include "server/protocol/text_out.h"

#include <algorithm>

#include "server/protocol/substitute.h"

namespace stationer::server {
namespace {

constexpr int tab_stop = 8;

// A last line that no line end closed, such as a prompt.
bool ends_open(std::string_view text) {
  return !text.empty() && text.back() != '\n' && text.back() != '\f';
}

// How many characters at the start of `text` fit into `width`; one at least if there is one, so
// that wrapping gets ahead.
std::size_t fitting(std::u32string_view text, int width) {
  std::size_t count = 0;
  for (int used = 0; count < text.size(); ++count) {
    used += cells(text[count]);
    if (used > width) break;
  }
  return count == 0 && !text.empty() ? 1 : count;
}

}  // namespace

std::string_view bytes_of(LineEnding ending) {
  switch (ending) {
    case LineEnding::cr_lf: return "\r\n";
    case LineEnding::cr: return "\r";
    case LineEnding::lf: return "\n";
  }
  return "\r\n";
}

std::vector<std::u32string> wrap(std::u32string_view rest, int width) {
  std::vector<std::u32string> lines;
  for (;;) {
    std::size_t end = fitting(rest, width);
    if (end == rest.size()) {
      lines.emplace_back(rest);
      return lines;
    }
    if (rest[end] != U' ') {
      // In the middle of a word. Go back to the space before it, unless it is the first.
      const auto space = rest.substr(0, end).rfind(U' ');
      if (space == std::u32string_view::npos || space < rest.find_first_not_of(U' ')) {
        lines.emplace_back(rest.substr(0, end));
        rest.remove_prefix(end);
        continue;
      }
      end = space;
    }
    const std::u32string_view line = rest.substr(0, end);
    lines.emplace_back(line.substr(0, line.find_last_not_of(U' ') + 1));
    rest.remove_prefix(std::min(rest.find_first_not_of(U' ', end), rest.size()));
    if (rest.empty()) return lines;
  }
}

TextOut::TextOut(const Screen& screen)
    : encoder_(screen.charset, screen.capitals),
      width_(std::clamp(screen.columns, 16, 255) - 1),
      ending_(bytes_of(screen.ending)) {}

std::vector<std::string> TextOut::lines(std::string_view text) const {
  std::vector<std::string> out;
  std::u32string paragraph;
  int column = 0;
  const auto finish = [&] {
    for (const auto& line : wrap(paragraph, width_)) {
      std::string bytes;
      for (const char32_t c : line) encoder_.append(c, bytes);
      out.push_back(std::move(bytes));
    }
    paragraph.clear();
    column = 0;
  };
  for (char32_t c : decode(text)) {
    if (c == U'\n' || c == U'\f') {
      finish();
    } else if (c == U'\t') {
      const int spaces = tab_stop - column % tab_stop;
      paragraph.append(static_cast<std::size_t>(spaces), U' ');
      column += spaces;
    } else if (c != U'\r') {
      c = c == print::replacement_character ? U'?' : encoder_.shown(c);
      if (c == 0) continue;
      paragraph += c;
      column += cells(c);
    }
  }
  if (ends_open(text)) finish();
  return out;
}

std::string TextOut::text(std::string_view text) const {
  std::string out;
  for (const auto& line : lines(text)) {
    out += line;
    out += ending_;
  }
  if (ends_open(text)) out.resize(out.size() - ending_.size());
  return out;
}

}  // namespace stationer::server
