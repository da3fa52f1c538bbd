#include "admin/console/dialog.h"

#include <algorithm>
#include <utility>

namespace stationer::admin::console {
namespace {

constexpr int widest = 76;
constexpr int margin = 2;

}  // namespace

Dialog::Dialog(Form form) : form_(std::move(form)), message_(false) {
  for (const auto& line : form_.lines) fields_.emplace_back().set(line.value);
}

Dialog::Dialog(Message message) : message_(true) {
  form_.title = std::move(message.title);
  form_.text = std::move(message.text);
}

Dialog::Outcome Dialog::key(const Key& key) {
  using Name = Key::Name;
  if (message_) {
    switch (key.name) {
      case Name::up: top_ = std::max(0, top_ - 1); return Outcome::stays;
      case Name::down: top_ = std::min(most_top_, top_ + 1); return Outcome::stays;
      case Name::enter:
      case Name::escape:
      case Name::leave: return Outcome::closes;
      default: return Outcome::stays;
    }
  }
  if (key.name == Name::escape || key.name == Name::leave) return Outcome::closes;
  if (waiting_) return Outcome::stays;
  if (fields_.empty()) {
    if (key.is('n')) return Outcome::closes;
    return key.is('y') ? Outcome::calls : Outcome::stays;
  }
  switch (key.name) {
    case Name::enter:
      if (at_ + 1 == fields_.size()) return Outcome::calls;
      ++at_;
      break;
    case Name::tab:
    case Name::down: at_ = (at_ + 1) % fields_.size(); break;
    case Name::back_tab:
    case Name::up: at_ = (at_ + fields_.size() - 1) % fields_.size(); break;
    default: fields_[at_].key(key);
  }
  return Outcome::stays;
}

Call Dialog::call() const {
  std::vector<std::string> values;
  for (const TextField& each : fields_) values.push_back(each.text());
  return form_.call(values);
}

void Dialog::fail(std::string why) {
  waiting_ = false;
  trouble_ = std::move(why);
}

std::vector<std::pair<std::string, std::string>> Dialog::keys() const {
  if (message_) {
    std::vector<std::pair<std::string, std::string>> out{{"Enter", "close it"}};
    if (most_top_ > 0) out.emplace_back("Up Down", "the rest of it");
    return out;
  }
  if (waiting_) return {{"Esc", "do not wait for it"}};
  if (fields_.empty()) return {{"y", "yes, do it"}, {"n", "no"}};
  std::vector<std::pair<std::string, std::string>> out;
  const bool last = at_ + 1 == fields_.size();
  out.emplace_back("Enter", last ? "do it" : "the next line");
  if (fields_.size() > 1) out.emplace_back("Up Down", "other lines");
  out.emplace_back("Left Right Home End", "in the line");
  out.emplace_back("Ctrl-U", "empty it");
  out.emplace_back("Esc", "leave it");
  return out;
}

void Dialog::draw(Grid& grid, const Area& area) {
  const int columns = std::min(widest, area.columns - 2 * margin);
  const int inside = columns - 4;
  if (inside < 4 || area.lines < 3) return;
  std::vector<std::string> text;
  for (const auto& paragraph : form_.text) {
    for (auto& line : wrapped(paragraph, inside)) text.push_back(std::move(line));
  }
  std::vector<std::string> below;
  if (waiting_) below.emplace_back("Waiting for the answer.");
  if (!trouble_.empty() && !waiting_) below = wrapped(trouble_, inside);
  const int fields = static_cast<int>(fields_.size());
  const int fixed = fields + static_cast<int>(below.size()) +
                    (fields > 0 && !text.empty() ? 1 : 0) + (below.empty() ? 0 : 1);
  const int room = std::max(0, area.lines - 2 - fixed);
  const int shown = std::min(static_cast<int>(text.size()), room);
  most_top_ = static_cast<int>(text.size()) - shown;
  top_ = std::min(top_, most_top_);
  const int lines = std::min(area.lines, fixed + shown + 2);
  const Area place{area.x + (area.columns - columns) / 2, area.y + (area.lines - lines) / 2,
                   columns, lines};
  const Area in = grid.frame(place, form_.title);
  int y = in.y;
  for (int i = 0; i < shown; ++i) {
    grid.put(in.x, y++, text[static_cast<std::size_t>(top_ + i)], Look::plain, in.columns);
  }
  if (fields > 0 && !text.empty()) ++y;
  int label = 0;
  for (const auto& line : form_.lines) label = std::max(label, width_of(line.label) + 2);
  for (std::size_t i = 0; i < fields_.size(); ++i, ++y) {
    const auto& line = form_.lines[i];
    grid.put(in.x, y, line.label, i == at_ ? Look::strong : Look::plain, label);
    const int free = in.columns - label;
    const int hint = line.hint.empty() ? 0 : std::min(width_of(line.hint) + 1, free / 2);
    fields_[i].draw(grid, in.x + label, y, free - hint, i == at_ && !waiting_);
    grid.put(in.x + label + free - hint + 1, y, line.hint, Look::faint, hint - 1);
  }
  if (!below.empty()) ++y;
  for (const auto& line : below) {
    if (y >= in.y + in.lines) break;
    grid.put(in.x, y++, line, waiting_ ? Look::faint : Look::trouble, in.columns);
  }
}

}  // namespace stationer::admin::console
