// The journal: who did what, newest first, narrowed down as one types.
#include <fmt/format.h>

#include "admin/console/screen.h"

namespace stationer::admin::console {
namespace {

namespace json = boost::json;

constexpr Moment often{3000};
constexpr std::uint64_t most_entries = 500;

bool is_day(std::string_view word) {
  if (word.size() != 10) return false;
  for (std::size_t i = 0; i < word.size(); ++i) {
    const bool dash = i == 4 || i == 7;
    if (dash ? word[i] != '-' : word[i] < '0' || word[i] > '9') return false;
  }
  return true;
}

// A whole day among the words is that day; the others are words.
json::object query(std::string_view typed) {
  json::object params{{"most", most_entries}};
  std::string words;
  while (!typed.empty()) {
    const auto end = typed.find(' ');
    const std::string_view word = typed.substr(0, end);
    if (is_day(word)) {
      params["since"] = word;
      params["until"] = word;
    } else if (!word.empty()) {
      words += words.empty() ? "" : " ";
      words += word;
    }
    if (end == std::string_view::npos) break;
    typed.remove_prefix(end + 1);
  }
  if (!words.empty()) params["words"] = words;
  return params;
}

}  // namespace

std::unique_ptr<Screen> make_journal(Desk& desk) {
  auto screen = std::make_unique<Screen>("Journal");
  auto made = std::make_unique<View>(
      "Entries", ListView({{time_column("When", "at"), 16},
                           field("Who", "who", 10, 0, 16),
                           field("What", "what", 18, 0, 30),
                           field("Of what", "subject", 20, 0, 60),
                           field("More", "detail", 20, 2, 80),
                           field("Where", "where", 18, 3, 40)},
                          [](const Item& item) { return text_of(item, "number"); }));
  View& view = *made;
  view.source = std::make_unique<Source>(desk.outbox(), "journal.list", query(""), often,
                                         [&view](json::array items) {
                                           // The service found them: here they are not looked
                                           // through again.
                                           if (view.search_at == Moment{}) view.list.search("");
                                           view.list.fill(std::move(items));
                                         });
  view.search = [&view](const std::string& words) { view.source->set_params(query(words)); };
  view.none = [] { return "The journal has nothing of that kind."; };
  view.facts = [](const Item& item) {
    return std::vector<Fact>{
        {"when", time_of(item, "at")},      {"who", text_of(item, "who")},
        {"what", text_of(item, "what")},    {"of what", text_of(item, "subject")},
        {"more", text_of(item, "detail")},  {"where", text_of(item, "where")},
        {"number", text_of(item, "number")}};
  };
  add_reading(view, desk, "An entry of the journal");
  screen->views.push_back(std::move(made));
  return screen;
}

}  // namespace stationer::admin::console
