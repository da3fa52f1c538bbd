#include "admin/console/screen_hand_ins.h"

#include <algorithm>

#include <boost/json/array.hpp>
#include <fmt/format.h>

namespace stationer::admin::console {
namespace {

namespace json = boost::json;

constexpr Moment now_and_then{10'000};

// The newest of somebody's receipts, which come newest first; null: has not handed in.
const Item* newest(const Item& entry) {
  const json::value* receipts = entry.if_contains("receipts");
  const json::array* all = receipts == nullptr ? nullptr : receipts->if_array();
  return all == nullptr || all->empty() ? nullptr : all->front().if_object();
}

std::size_t count(const Item& entry) {
  return newest(entry) == nullptr ? 0 : entry.at("receipts").as_array().size();
}

std::string state_of(const Item& entry) {
  const Item* receipt = newest(entry);
  if (receipt == nullptr) return "not yet";
  if (!text_of(*receipt, "returned").empty()) return "handed back";
  return is_set(*receipt, "late") ? "late" : "handed in";
}

std::string last_of(const Item& entry) {
  const Item* receipt = newest(entry);
  return receipt == nullptr ? "" : time_of(*receipt, "at");
}

std::string counts_of(const Item& folder) {
  return fmt::format("{} of {}", number_of(folder, "handed_in"), number_of(folder, "members"));
}

// Who has not comes first.
json::array in_order(json::array entries) {
  std::stable_partition(entries.begin(), entries.end(), [](const json::value& each) {
    return each.is_object() && newest(each.as_object()) == nullptr;
  });
  return entries;
}

std::string receipts_of(const Item& entry) {
  std::string out;
  if (count(entry) == 0) return out;
  for (const json::value& each : entry.at("receipts").as_array()) {
    if (!each.is_object()) continue;
    const Item& receipt = each.as_object();
    out += fmt::format("{}{} ({}, {}{}{})", out.empty() ? "" : "; ", text_of(receipt, "name"),
                       size_of(receipt, "size"), time_of(receipt, "at"),
                       is_set(receipt, "late") ? ", late" : "",
                       text_of(receipt, "returned").empty() ? "" : ", handed back");
  }
  return out;
}

std::unique_ptr<View> make_roll(Desk& desk, const std::shared_ptr<std::string>& folder) {
  auto made = std::make_unique<View>(
      "Roll", ListView(
                  {field("Name", "name", 12, 0, 16),
                   field("Full name", "full_name", 16, 0, 30),
                   {{"State", state_of}, 11},
                   {{"Last", last_of}, 16},
                   {{"Files",
                     [](const Item& entry) {
                       return count(entry) == 0 ? std::string() : std::to_string(count(entry));
                     },
                     true},
                    5},
                   {{"Who they are",
                     [](const Item& entry) { return is_set(entry, "member") ? "" : "no member"; }},
                    12,
                    1}},
                  [](const Item& entry) { return text_of(entry, "name"); },
                  [](const Item& entry) {
                    return newest(entry) == nullptr ? Look::warning : Look::plain;
                  }));
  View& view = *made;
  view.source = std::make_unique<Source>(
      desk.outbox(), "handin.roll", json::object{}, now_and_then,
      [&view](json::array entries) { view.list.fill(in_order(std::move(entries))); });
  view.source->wait();
  view.head = [folder] { return folder->empty() ? "" : "in " + *folder; };
  view.none = [folder]() -> std::string {
    if (folder->empty()) return "Choose a folder first: Enter on it, among the hand-ins.";
    return "Nobody is in its class yet.";
  };
  view.facts = [](const Item& entry) {
    return std::vector<Fact>{{"name", text_of(entry, "name")},
                             {"full name", text_of(entry, "full_name")},
                             {"state", state_of(entry)},
                             {"last", last_of(entry)},
                             {"handed in", receipts_of(entry)}};
  };
  add_act(view, 'n', "notice",
          [&desk](const Item& entry) { desk.open(notice_form(text_of(entry, "name"))); });
  add_reading(view, desk, "Handed in");
  return made;
}

void add_times(View& view, Desk& desk) {
  add_act(view, 't', "times", [&desk](const Item& item) {
    const std::string path = text_of(item, "path");
    const std::string opens = time_of(item, "opens");
    const std::string closes = time_of(item, "closes");
    const std::string late = is_set(item, "late_allowed") ? "yes" : "no";
    desk.open(Form{
        fmt::format("When {} takes work", path),
        {"Nothing typed: it is open already, or does not close. Late: whether it takes "
         "work after closing, marked late."},
        {{"Opens", opens, "as 2026-12-01 09:00"},
         {"Closes", closes, "as 2026-12-01 15:30"},
         {"Late", late, "yes, no"}},
        [=](const auto& values) {
          json::object params{{"path", path}, {"opens", values[0]}, {"closes", values[1]}};
          if (values[2] == "yes" || values[2] == "no") {
            params["late"] = values[2] == "yes";
          } else {
            params["late"] = values[2];
          }
          const auto word = [](const std::string& time) {
            return time.empty() ? std::string("an empty line") : time;
          };
          return Call{"handin.set", std::move(params),
                      fmt::format("The times of {} are set.", path),
                      fmt::format("t and {}, {}, {}.", word(opens), word(closes), late), nullptr};
        }});
  });
}

}  // namespace

void add_hand_ins(Screen& screen, Desk& desk) {
  const auto chosen = std::make_shared<std::string>();
  auto made = std::make_unique<View>(
      "Hand-ins",
      ListView({field("Folder", "path", 26, 0, 60),
                field("Class", "class", 10, 0, 16),
                {{"Handed in", counts_of}, 10},
                {time_column("Closes", "closes"), 16},
                {time_column("Opens", "opens"), 16, 2},
                {{"Late",
                  [](const Item& item) { return is_set(item, "late_allowed") ? "allowed" : ""; }},
                 7,
                 1}},
               [](const Item& item) { return text_of(item, "path"); }));
  View& view = *made;
  view.source = rows_of(view, desk.outbox(), "handin.list", {}, now_and_then);
  view.none = [] { return "There is no hand-in folder. Each class that is added gets one."; };
  view.facts = [](const Item& item) {
    return std::vector<Fact>{{"folder", text_of(item, "path")},
                             {"class", text_of(item, "class")},
                             {"handed in", counts_of(item)},
                             {"opens", time_of(item, "opens")},
                             {"closes", time_of(item, "closes")},
                             {"late work", is_set(item, "late_allowed") ? "allowed" : "not taken"}};
  };
  auto roll = make_roll(desk, chosen);
  add_enter(
      view, "who has, who hasn't",
      [&screen, chosen, &source = *roll->source, at = screen.views.size() + 1](const Item& item) {
        *chosen = text_of(item, "path");
        source.set_params({{"path", *chosen}});
        screen.at = at;
      });
  add_times(view, desk);
  add_act(
      view, 'n', "notice to the class",
      [&desk](const Item& item) { desk.open(notice_form("@" + text_of(item, "class"))); },
      [](const Item& item) { return !text_of(item, "class").empty(); });
  screen.views.push_back(std::move(made));
  screen.views.push_back(std::move(roll));
}

}  // namespace stationer::admin::console
