#include "admin/console/screen.h"

#include <fmt/format.h>

namespace stationer::admin::console {
namespace {

void add(View& view, Key key, std::string shown, std::string word,
         std::function<void(const Item&)> run, std::function<bool(const Item&)> fits) {
  view.acts.push_back({key, std::move(shown), std::move(word),
                       [&view, fits = std::move(fits)] {
                         const Item* item = view.item();
                         return item != nullptr && (!fits || fits(*item));
                       },
                       [&view, run = std::move(run)] {
                         // A copy: what is done may bring another list.
                         const Item item = *view.item();
                         run(item);
                       }});
}

}  // namespace

void add_act(View& view, char32_t key, std::string word, std::function<void(const Item&)> run,
             std::function<bool(const Item&)> fits) {
  add(view, typed(key), std::string(1, static_cast<char>(key)), std::move(word), std::move(run),
      std::move(fits));
}

void add_enter(View& view, std::string word, std::function<void(const Item&)> run,
               std::function<bool(const Item&)> fits) {
  add(view, {Key::Name::enter}, "Enter", std::move(word), std::move(run), std::move(fits));
}

void add_plain_act(View& view, char32_t key, std::string word, std::function<void()> run) {
  view.acts.push_back({typed(key), std::string(1, static_cast<char>(key)), std::move(word), nullptr,
                       std::move(run)});
}

void add_reading(View& view, Desk& desk, std::string_view title) {
  add_enter(view, "all of it", [&view, &desk, title](const Item& item) {
    Message message{std::string(title), {}};
    for (const Fact& fact : view.facts(item)) {
      if (!fact.text.empty()) message.text.push_back(fmt::format("{}: {}", fact.label, fact.text));
    }
    desk.open(std::move(message));
  });
}

Form notice_form(const std::string& to, std::string when) {
  return Form{fmt::format("A notice for {}", to),
              {std::move(when)},
              {{"It says", "", ""}},
              [to](const auto& values) {
                return Call{"notice.send",
                            {{"to", to}, {"text", values[0]}},
                            fmt::format("The notice is sent to {}.", to),
                            "",
                            nullptr};
              }};
}

std::unique_ptr<Source> rows_of(View& view, Outbox& outbox, std::string method,
                                boost::json::object params, Moment every) {
  return std::make_unique<Source>(
      outbox, std::move(method), std::move(params), every,
      [&view](boost::json::array items) { view.list.fill(std::move(items)); });
}

Field field(std::string_view title, std::string_view key, int width, int rank, int most) {
  return {text_column(title, key), width, rank, most};
}

bool says(const Item& item, std::string_view key, std::string_view word) {
  return text_of(item, key) == word;
}

}  // namespace stationer::admin::console
