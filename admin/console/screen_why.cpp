#include "admin/console/screen_why.h"

#include <fmt/format.h>

namespace stationer::admin::console {
namespace {

namespace json = boost::json;

constexpr Moment often{5000};
constexpr std::uint64_t most_refusals = 200;

}  // namespace

Why::Why(Desk& desk) : Screen("Why"), desk_(desk) {
  auto made = std::make_unique<View>("Refusals",
                                     ListView({{time_column("When", "at"), 16},
                                               field("Who", "who", 10, 0, 16),
                                               field("Station", "station", 9, 1, 16),
                                               field("What", "act", 10, 2, 20),
                                               field("Of what", "subject", 16, 3, 40),
                                               field("Why not", "sentence", 30, 0, 100)},
                                              [](const Item& item) {
                                                return text_of(item, "at") + text_of(item, "who") +
                                                       text_of(item, "subject");
                                              }));
  View& view = *made;
  view.source = rows_of(view, desk_.outbox(), "why.list", {{"most", most_refusals}}, often);
  view.head = [this] { return about_.empty() ? "" : "of " + about_; };
  view.none = [this] {
    return about_.empty() ? std::string("Nothing was refused.")
                          : fmt::format("Nothing was refused to do with {}.", about_);
  };
  view.facts = [](const Item& item) {
    return std::vector<Fact>{{"why not", text_of(item, "sentence")},
                             {"the rule", text_of(item, "rule")},
                             {"what would change it", text_of(item, "remedy")},
                             {"what", text_of(item, "act")},
                             {"of what", text_of(item, "subject")},
                             {"who", text_of(item, "who")},
                             {"station", text_of(item, "station")},
                             {"door", text_of(item, "door")},
                             {"when", time_of(item, "at")}};
  };
  add_plain_act(view, 'e', "everything", [this] { ask({}, ""); });
  add_reading(view, desk_, "Why it did not work");
  views.push_back(std::move(made));
}

void Why::ask(json::object params, std::string about) {
  about_ = std::move(about);
  params["most"] = most_refusals;
  views.front()->source->set_params(std::move(params));
}

}  // namespace stationer::admin::console
