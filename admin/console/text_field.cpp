#include "admin/console/text_field.h"

#include <algorithm>

#include "fs/text.h"
#include "server/protocol/encoder.h"
#include "server/protocol/substitute.h"

namespace stationer::admin::console {
namespace {

std::string utf_8(std::u32string_view characters) {
  static const server::Encoder encoder(print::Charset::utf_8);
  std::string out;
  for (const char32_t c : characters) encoder.append(c, out);
  return out;
}

bool can_be_typed(char32_t c) {
  return c >= 0x20 && !(c >= 0x7F && c < 0xA0) && !server::steers_layout(c);
}

}  // namespace

std::string TextField::text() const {
  return utf_8(characters_);
}

void TextField::set(std::string_view text) {
  characters_.clear();
  if (fs::is_utf8(text)) fs::each_character(text, [this](char32_t c) { characters_ += c; });
  cursor_ = characters_.size();
}

bool TextField::key(const Key& key) {
  using Name = Key::Name;
  switch (key.name) {
    case Name::character:
      if (can_be_typed(key.character) && characters_.size() < longest) {
        characters_.insert(cursor_++, 1, key.character);
      }
      return true;
    case Name::backspace:
      if (cursor_ > 0) characters_.erase(--cursor_, 1);
      return true;
    case Name::remove:
      if (cursor_ < characters_.size()) characters_.erase(cursor_, 1);
      return true;
    case Name::clear:
      characters_.clear();
      cursor_ = 0;
      return true;
    case Name::left:
      if (cursor_ > 0) --cursor_;
      return true;
    case Name::right:
      if (cursor_ < characters_.size()) ++cursor_;
      return true;
    case Name::home: cursor_ = 0; return true;
    case Name::end: cursor_ = characters_.size(); return true;
    default: return false;
  }
}

void TextField::draw(Grid& grid, int x, int y, int width, bool typing) const {
  if (width <= 0) return;
  grid.fill({x, y, width, 1}, Look::field);
  // As many characters before the cursor as fit with the cursor itself.
  std::size_t first = cursor_;
  int before = 0;
  while (first > 0 && before + server::cells(characters_[first - 1]) < width) {
    before += server::cells(characters_[--first]);
  }
  int used = 0;
  std::size_t end = first;
  while (end < characters_.size() && used + server::cells(characters_[end]) <= width) {
    used += server::cells(characters_[end++]);
  }
  grid.put(x, y, utf_8(std::u32string_view(characters_).substr(first, end - first)), Look::field,
           width);
  if (typing) grid.cursor = Grid::Place{x + std::min(before, width - 1), y};
}

}  // namespace stationer::admin::console
