#include "admin/console/list_view.h"

#include <algorithm>
#include <unordered_map>
#include <utility>

#include "fs/text.h"

namespace stationer::admin::console {
namespace {

constexpr int gap = 2;
constexpr char32_t between = ' ';

std::string folded(std::string_view text) {
  return fs::is_ascii(text) ? fs::ascii_lower(text) : fs::fold(text);
}

std::vector<std::string> words_in(std::string_view text) {
  std::vector<std::string> out;
  while (!text.empty()) {
    const auto end = text.find(' ');
    if (end != 0) out.emplace_back(text.substr(0, end));
    if (end == std::string_view::npos) break;
    text.remove_prefix(end + 1);
  }
  return out;
}

}  // namespace

ListView::ListView(std::vector<Field> fields, std::function<std::string(const Item&)> name,
                   std::function<Look(const Item&)> look)
    : fields_(std::move(fields)), name_(std::move(name)), look_(std::move(look)) {}

void ListView::fill(boost::json::array items) {
  // What did not change is not worded again.
  std::unordered_map<std::string, Row> before;
  for (Row& row : rows_) {
    if (row.words.empty()) continue;
    std::string name = name_(row.item);
    before.emplace(std::move(name), std::move(row));
  }
  rows_.clear();
  rows_.reserve(items.size());
  for (auto& item : items) {
    if (!item.is_object()) continue;
    Row& row = rows_.emplace_back(Row{std::move(item.as_object()), {}});
    if (before.empty()) continue;
    const auto same = before.find(name_(row.item));
    if (same != before.end() && same->second.item == row.item) {
      row.words = std::move(same->second.words);
    }
  }
  worded_ = 0;
  find(false);
  pick_again();
}

void ListView::prepare(std::size_t rows) {
  for (; rows > 0 && worded_ < rows_.size(); --rows) words_of(rows_[worded_++]);
}

void ListView::reword() {
  for (Row& row : rows_) row.words.clear();
  worded_ = 0;
  if (wanted_.empty()) return;
  find(false);
  pick_again();
}

void ListView::search(std::string_view words) {
  auto wanted = words_in(folded(printable(words)));
  // What is typed on goes on among what was found.
  const bool narrower =
      !wanted_.empty() && wanted.size() >= wanted_.size() &&
      std::equal(wanted_.begin(), wanted_.end(), wanted.begin(),
                 [](const auto& before, const auto& now) { return now.starts_with(before); });
  if (wanted == wanted_) return;
  wanted_ = std::move(wanted);
  find(narrower);
  pick_again();
  // One stays at what was found when the search is over.
  if (const Item* item = picked()) picked_ = name_(*item);
}

const std::string& ListView::words_of(Row& row) const {
  if (row.words.empty()) {
    std::string all;
    for (const Field& field : fields_) {
      all += field.column.cell(row.item);
      all += static_cast<char>(between);
    }
    row.words = folded(all);
  }
  return row.words;
}

bool ListView::fits(Row& row) const {
  return std::all_of(wanted_.begin(), wanted_.end(), [&](const std::string& word) {
    return words_of(row).find(word) != std::string::npos;
  });
}

void ListView::find(bool among_found) {
  if (among_found) {
    std::erase_if(found_, [this](std::size_t each) { return !fits(rows_[each]); });
    return;
  }
  found_.clear();
  for (std::size_t i = 0; i < rows_.size(); ++i) {
    if (wanted_.empty() || fits(rows_[i])) found_.push_back(i);
  }
}

// At what it was, or where that would be.
void ListView::pick_again() {
  for (std::size_t i = 0; i < found_.size() && !picked_.empty(); ++i) {
    if (name_(rows_[found_[i]].item) != picked_) continue;
    at_ = i;
    return;
  }
  at_ = std::min(at_, found_.empty() ? 0 : found_.size() - 1);
}

void ListView::pick(std::string_view name) {
  picked_ = name;
  pick_again();
}

const Item* ListView::picked() const {
  return at_ < found_.size() ? &rows_[found_[at_]].item : nullptr;
}

bool ListView::key(const Key& key) {
  using Name = Key::Name;
  const std::size_t last = found_.empty() ? 0 : found_.size() - 1;
  switch (key.name) {
    case Name::up: at_ -= at_ > 0 ? 1 : 0; break;
    case Name::down: at_ = std::min(at_ + 1, last); break;
    case Name::page_up: at_ -= std::min(at_, page_); break;
    case Name::page_down: at_ = std::min(at_ + page_, last); break;
    case Name::home: at_ = 0; break;
    case Name::end: at_ = last; break;
    default: return false;
  }
  const Item* item = picked();
  picked_ = item == nullptr ? "" : name_(*item);
  return true;
}

std::vector<int> ListView::widths(int columns) const {
  std::vector<int> out;
  for (const Field& field : fields_) out.push_back(field.width);
  const auto taken = [&] {
    int sum = 0;
    for (const int each : out) sum += each == 0 ? 0 : each + gap;
    return std::max(0, sum - gap);
  };
  while (taken() > columns) {
    std::size_t least = fields_.size();
    for (std::size_t i = 0; i < fields_.size(); ++i) {
      if (out[i] == 0 || fields_[i].rank == 0) continue;
      if (least == fields_.size() || fields_[i].rank >= fields_[least].rank) least = i;
    }
    if (least == fields_.size()) break;
    out[least] = 0;
  }
  for (int free = columns - taken(); free > 0;) {
    const int before = free;
    for (std::size_t i = 0; i < fields_.size() && free > 0; ++i) {
      if (out[i] == 0 || out[i] >= fields_[i].most) continue;
      ++out[i];
      --free;
    }
    if (free == before) break;
  }
  return out;
}

void ListView::draw(Grid& grid, const Area& area) {
  if (area.lines < 1) return;
  page_ = static_cast<std::size_t>(std::max(1, area.lines - 1));
  if (at_ < top_) top_ = at_;
  if (at_ >= top_ + page_) top_ = at_ - page_ + 1;
  // No empty lines below while there is something above.
  top_ = std::min(top_, found_.size() > page_ ? found_.size() - page_ : 0);

  const std::vector<int> wide = widths(area.columns);
  const auto each_shown = [&](const auto& use) {
    int x = area.x;
    for (std::size_t i = 0; i < fields_.size(); ++i) {
      if (wide[i] == 0) continue;
      use(fields_[i].column, x, std::min(wide[i], area.x + area.columns - x));
      x += wide[i] + gap;
    }
  };
  const auto put = [&](int x, int y, std::string_view text, Look look, int width, bool right) {
    if (right) {
      grid.put_right(x, y, text, look, width);
    } else {
      grid.put(x, y, text, look, width);
    }
  };
  each_shown([&](const Column& column, int x, int width) {
    put(x, area.y, column.title, Look::faint, width, column.right);
  });
  for (std::size_t i = 0; i < page_ && top_ + i < found_.size(); ++i) {
    const int y = area.y + 1 + static_cast<int>(i);
    if (y >= area.y + area.lines) break;
    const Item& item = rows_[found_[top_ + i]].item;
    const bool here = top_ + i == at_;
    const Look look = here ? Look::picked : look_ ? look_(item) : Look::plain;
    if (here) grid.fill({area.x, y, area.columns, 1}, look);
    each_shown([&](const Column& column, int x, int width) {
      put(x, y, column.cell(item), look, width, column.right);
    });
  }
}

}  // namespace stationer::admin::console
