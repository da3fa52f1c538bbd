#include "admin/console/console.h"

#include <algorithm>

#include <boost/json/array.hpp>
#include <fmt/format.h>

#include "server/terminal/wording.h"

namespace stationer::admin::console {
namespace {

namespace json = boost::json;
using server::counted;

constexpr Moment status_every{5000};
constexpr Moment search_pause{250};        // after the last key, before the service is asked
constexpr Moment long_wait{3000};          // from which on it is said that an answer is late
constexpr std::size_t rows_at_once = 200;  // worded for a search to come
constexpr std::size_t most_said = 3;       // lines
constexpr int facts_when_low = 3;          // lines
constexpr int gap = 3;                     // between keys, and between titles

const json::object* object_in(const json::object& in, std::string_view key) {
  const json::value* value = in.if_contains(key);
  return value == nullptr ? nullptr : value->if_object();
}

std::string first_trouble(const json::object& status) {
  const json::value* troubles = status.if_contains("troubles");
  const json::array* all = troubles == nullptr ? nullptr : troubles->if_array();
  if (all == nullptr || all->empty() || !all->front().is_string()) return "";
  std::string out = fmt::format("Trouble: {}", printable(all->front().as_string()));
  if (all->size() > 1) out += fmt::format(" And {} more: stationer status.", all->size() - 1);
  return out;
}

}  // namespace

Console::Console() {
  Desk& desk = *this;
  screens_.push_back(make_room(desk));
  screens_.push_back(make_paper(desk));
  screens_.push_back(make_people(desk));
  auto tree = std::make_unique<Tree>(desk);
  tree_ = tree.get();
  screens_.push_back(std::move(tree));
  screens_.push_back(make_journal(desk));
  auto why = std::make_unique<Why>(desk);
  why_ = why.get();
  screens_.push_back(std::move(why));
}

Console::~Console() = default;

void Console::tick(Moment now, std::string_view clock, const Link& link) {
  const bool other_way = link.way != link_.way;
  now_ = now;
  clock_ = clock;
  link_ = link;
  outbox_.at(now);
  if (other_way && link.way != Way::none) ask_again();
  const bool slowly = link.way != Way::service;
  View& view = screens_[at_]->view();
  if (view.search_at != Moment{} && now >= view.search_at) {
    view.search_at = {};
    view.search(view.words.text());
  }
  view.list.prepare(rows_at_once);
  view.source->tick(now, slowly);
  for (Source* source : view.besides) source->tick(now, slowly);
  for (const auto& other : screens_[at_]->views) {
    if (other.get() != &view) other->source->tick(now, true);
  }
  if (status_due_ || (!slowly && now - status_asked_ >= status_every)) {
    status_due_ = false;
    status_asked_ = now;
    outbox_.ask("status", {}, [this](Answer answer) { take_status(std::move(answer)); });
  }
}

void Console::take_status(Answer answer) {
  if (answer) status_ = std::move(*answer);
}

void Console::ask_again() {
  status_due_ = true;
  for (const auto& view : screens_[at_]->views) {
    view->source->again();
    for (Source* source : view->besides) source->again();
  }
}

void Console::show(std::size_t screen) {
  if (screen >= screens_.size()) return;
  screens_[at_]->view().typing = false;
  said_.clear();
  at_ = screen;
  ask_again();
}

void Console::show_view(std::size_t view) {
  Screen& screen = *screens_[at_];
  screen.view().typing = false;
  said_.clear();
  screen.at = view % screen.views.size();
}

// ---- what acts do ----

void Console::act(Call call) {
  if (call.method.empty()) {
    dialog_.reset();
    if (call.then) call.then({});
    return;
  }
  const bool from_dialog = dialog_ && dialog_->waits();
  auto id = std::make_shared<std::uint64_t>(0);
  *id = outbox_.act(call.method, call.params, [this, id, call](Answer answer) {
    const bool asked = dialog_ && dialog_call_ == *id;
    if (!answer && asked) return dialog_->fail(answer.error().message);
    if (asked) dialog_.reset();
    said_look_ = answer ? Look::good : Look::trouble;
    said_ = answer ? call.done : answer.error().message;
    if (answer && !call.undo.empty()) said_ += fmt::format(" To undo it: {}", call.undo);
    ask_again();
    if (answer && call.then) call.then(*answer);
  });
  if (from_dialog) {
    dialog_call_ = *id;
  } else {
    said_ = "Waiting for the answer.";
    said_look_ = Look::faint;
  }
}

void Console::open(Form form) {
  dialog_.emplace(std::move(form));
  dialog_call_ = 0;
}

void Console::open(Message message) {
  dialog_.emplace(std::move(message));
  dialog_call_ = 0;
}

void Console::say(std::string sentence) {
  said_ = std::move(sentence);
  said_look_ = Look::plain;
}

std::size_t Console::number_of_screen(const Screen* screen) const {
  const auto found = std::find_if(screens_.begin(), screens_.end(),
                                  [&](const auto& each) { return each.get() == screen; });
  return static_cast<std::size_t>(found - screens_.begin());
}

void Console::see_as(const std::string& account, const std::string& path) {
  tree_->see_as(account, path);
  show(number_of_screen(tree_));
}

void Console::ask_why(json::object params, std::string about) {
  why_->ask(std::move(params), std::move(about));
  show(number_of_screen(why_));
}

// ---- keys ----

void Console::key(const Key& key) {
  if (dialog_) return key_in_dialog(key);
  Screen& screen = *screens_[at_];
  View& view = screen.view();
  if (key.name == Key::Name::leave) {
    over_ = true;
    return;
  }
  if (view.typing) return key_in_search(view, key);
  if (view.list.key(key)) return;
  for (const Act& each : view.acts) {
    if (each.key != key || (each.fits && !each.fits())) continue;
    said_.clear();
    return each.run();
  }
  if (key.name == Key::Name::tab) return show_view(screen.at + 1);
  if (key.name == Key::Name::back_tab) return show_view(screen.at + screen.views.size() - 1);
  if (key.name == Key::Name::escape && !view.words.empty()) {
    view.words.set("");
    return search_changed(view);
  }
  if (key.name != Key::Name::character) return;
  if (key.character >= '1' && key.character < '1' + screens_.size()) {
    return show(static_cast<std::size_t>(key.character - '1'));
  }
  switch (key.character) {
    case '/': view.typing = true; break;
    case 'u': ask_again(); break;
    case 'q': over_ = true; break;
    default: break;
  }
}

void Console::key_in_dialog(const Key& key) {
  switch (dialog_->key(key)) {
    case Dialog::Outcome::stays: return;
    case Dialog::Outcome::closes: dialog_.reset(); return;
    case Dialog::Outcome::calls: break;
  }
  Call call = dialog_->call();
  dialog_->wait();
  act(std::move(call));
}

void Console::key_in_search(View& view, const Key& key) {
  if (key.name == Key::Name::enter) {
    view.typing = false;
  } else if (key.name == Key::Name::escape) {
    view.typing = false;
    view.words.set("");
    search_changed(view);
  } else if (view.words.key(key)) {
    search_changed(view);
  } else {
    view.list.key(key);
  }
}

void Console::search_changed(View& view) {
  view.list.search(view.words.text());
  if (view.search) view.search_at = now_ + search_pause;
}

Console::Keys Console::keys() {
  if (dialog_) return dialog_->keys();
  Screen& screen = *screens_[at_];
  View& view = screen.view();
  if (view.typing) {
    return {{"Enter", "to the list"},
            {"Esc", "search for nothing"},
            {"Ctrl-U", "empty it"},
            {"Up Down PgUp PgDn", "move"}};
  }
  Keys out;
  for (const Act& each : view.acts) {
    if (!each.fits || each.fits()) out.emplace_back(each.shown, each.word);
  }
  out.emplace_back("/", "search");
  if (!view.words.empty()) out.emplace_back("Esc", "search for nothing");
  if (screen.views.size() > 1) out.emplace_back("Tab", "next list");
  out.emplace_back("Up Down PgUp PgDn Home End", "move");
  out.emplace_back("u", "update");
  out.emplace_back("q", "leave");
  return out;
}

// ---- drawing ----

std::string Console::state(Look& look) const {
  look = Look::warning;
  if (link_.way == Way::none) return link_.why;
  if (link_.way == Way::looking) return "Looking for the service.";
  if (const Moment waited = outbox_.waited(); waited >= long_wait) {
    return fmt::format("No answer for {} s. What shows is as it was; keys go on working.",
                       waited.count() / 1000);
  }
  if (const std::string trouble = first_trouble(status_); !trouble.empty()) {
    look = Look::trouble;
    return trouble;
  }
  look = Look::plain;
  if (status_.empty()) return "";
  const bool straight = link_.way == Way::straight;
  if (straight) look = Look::warning;
  std::string jobs;
  if (const json::object* counts = object_in(status_, "jobs")) {
    for (const char* each : {"waiting", "printing", "held", "refused"}) {
      const std::uint64_t count = number_of(*counts, each);
      if (count > 0) jobs += fmt::format("{}{} {}", jobs.empty() ? "" : ", ", count, each);
    }
  }
  return fmt::format(
      "{}. {}.",
      straight ? "No service runs; what shows is as of the last look"
               : "The service runs; " + counted(number_of(status_, "sessions"), "session"),
      jobs.empty() ? "No jobs" : "Jobs: " + jobs);
}

Grid Console::draw(int columns, int lines) {
  Grid grid(columns, lines);
  if (columns < least_columns || lines < least_lines) {
    int y = 0;
    for (const auto& line : wrapped(fmt::format("The console needs {} columns and {} lines; here "
                                                "are {} and {}. Make the window larger, or leave "
                                                "with q.",
                                                least_columns, least_lines, columns, lines),
                                    columns)) {
      grid.put(0, y++, line);
    }
    return grid;
  }
  draw_top(grid);
  const int keys_at = draw_keys(grid);
  auto said = wrapped(said_, columns - 2);
  if (said.size() > most_said) said.resize(most_said);
  const int said_at = keys_at - static_cast<int>(said.size());
  for (std::size_t i = 0; i < said.size(); ++i) {
    grid.put(1, said_at + static_cast<int>(i), said[i], said_look_);
  }
  const int middle = said_at - 3;
  const int facts = std::max(facts_when_low, (middle - 12) / 3);
  draw_view(grid, {1, 3, columns - 2, middle - facts});
  draw_facts(grid, {1, said_at - facts, columns - 2, facts});
  if (dialog_) {
    grid.cursor.reset();
    dialog_->draw(grid, {0, 1, columns, keys_at - 1});
  }
  return grid;
}

void Console::draw_top(Grid& grid) {
  grid.fill({0, 0, grid.columns(), 1}, Look::bar);
  int x = grid.columns();
  x -= width_of(clock_) + 1;
  grid.put(x, 0, clock_, Look::bar);
  int wide = 0;
  for (const auto& screen : screens_) wide += width_of(screen->title) + 4;
  const int titles = std::max(1, x - wide - 1);
  grid.put(1, 0, text_of(status_, "name"), Look::bar, titles - 2);
  x = titles;
  for (std::size_t i = 0; i < screens_.size(); ++i) {
    const std::string title = fmt::format(" {} {} ", i + 1, screens_[i]->title);
    x += grid.put(x, 0, title, i == at_ ? Look::chosen : Look::bar);
  }
  Look look = Look::plain;
  const std::string words = state(look);
  grid.put(1, 1, words, look, grid.columns() - 2);
}

int Console::draw_keys(Grid& grid) {
  const Keys all = keys();
  const int columns = grid.columns() - 2;
  // First how many lines, then from there on down.
  std::vector<std::vector<std::size_t>> lines(1);
  int used = 0;
  for (std::size_t i = 0; i < all.size(); ++i) {
    const int width = width_of(all[i].first) + 1 + width_of(all[i].second);
    if (used > 0 && used + width > columns) {
      lines.emplace_back();
      used = 0;
    }
    lines.back().push_back(i);
    used += width + gap;
  }
  const int first = grid.lines() - static_cast<int>(lines.size());
  int y = first;
  for (const auto& line : lines) {
    int x = 1;
    for (const std::size_t i : line) {
      x += grid.put(x, y, all[i].first, Look::key);
      x += 1 + grid.put(x + 1, y, all[i].second, Look::plain);
      x += gap;
    }
    ++y;
  }
  return first;
}

void Console::draw_view(Grid& grid, const Area& area) {
  Screen& screen = *screens_[at_];
  View& view = screen.view();
  int x = area.x;
  for (std::size_t i = 0; i < screen.views.size(); ++i) {
    View& each = *screen.views[i];
    std::string title = each.title;
    if (each.source->came()) title += fmt::format(" {}", each.list.size());
    x += grid.put(x, 2, title, i == screen.at ? Look::strong : Look::faint) + gap;
  }
  std::string head = view.head ? view.head() : "";
  if (view.typing || !view.words.empty()) {
    const std::string label = "/ ";
    head = fmt::format("{} found", view.list.found());
    // What is typed scrolls in its field, so that how many are found shows however narrow it is.
    const int room = area.x + area.columns - x;
    const int width = std::min(room, std::clamp(room - width_of(head) - gap, 10, 30));
    x += grid.put(x, 2, label, Look::key);
    view.words.draw(grid, x, 2, width - 2, view.typing);
    x += width;
  }
  grid.put_right(x, 2, head, Look::plain, area.x + area.columns - x);
  view.list.draw(grid, area);
  if (view.list.found() > 0) return;
  std::string why;
  Look look = Look::plain;
  if (!view.source->trouble().empty()) {
    why = view.source->trouble();
    look = Look::trouble;
  } else if (!view.source->came()) {
    why = "Coming.";
  } else if (!view.words.empty()) {
    why = "Nothing here has all of these words.";
  } else if (view.none) {
    why = view.none();
  }
  int y = area.y + 2;
  for (const auto& line : wrapped(why, area.columns)) {
    if (y < area.y + area.lines) grid.put(area.x, y++, line, look);
  }
}

// Labels and texts one behind the other, as many as fit.
void Console::draw_facts(Grid& grid, const Area& area) {
  View& view = screens_[at_]->view();
  const Item* item = view.item();
  if (item == nullptr || !view.facts) return;
  std::string all;
  for (const Fact& fact : view.facts(*item)) {
    if (fact.text.empty()) continue;
    if (!all.empty()) all += "   ";
    all += fmt::format("{}: {}", fact.label, fact.text);
  }
  const auto lines = wrapped(all, area.columns);
  for (std::size_t i = 0; i < lines.size() && static_cast<int>(i) < area.lines; ++i) {
    const bool cut = static_cast<int>(i) + 1 == area.lines && i + 1 < lines.size();
    grid.put(area.x, area.y + static_cast<int>(i), cut ? lines[i] + "…" : lines[i], Look::plain,
             area.columns);
  }
}

}  // namespace stationer::admin::console
