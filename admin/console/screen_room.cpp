// The room: stations by segment and number, who is there, what they do, and machines nobody knows.
#include <array>
#include <map>

#include <boost/json/array.hpp>
#include <fmt/format.h>

#include "admin/console/screen.h"
#include "fs/text.h"

namespace stationer::admin::console {
namespace {

namespace json = boost::json;

constexpr Moment often{2000};
constexpr Moment now_and_then{10'000};
constexpr std::uint64_t most_troubles = 500;

// Who is connected, by station, and what went wrong there last.
struct Here {
  std::multimap<std::string, Item, std::less<>> by_station;
  std::map<std::string, Item, std::less<>> troubles;  // the latest
};

std::string of_those(const Here& here, const Item& station, std::string_view key) {
  std::string out;
  const auto [first, end] = here.by_station.equal_range(text_of(station, "name"));
  for (auto each = first; each != end; ++each) {
    if (!out.empty()) out += ", ";
    out += text_of(each->second, key);
  }
  return out;
}

std::string trouble_of(const Here& here, const Item& station) {
  const auto found = here.troubles.find(text_of(station, "name"));
  return found == here.troubles.end() ? "" : text_of(found->second, "sentence");
}

std::string time_of_trouble(const Here& here, const Item& station) {
  const auto found = here.troubles.find(text_of(station, "name"));
  return found == here.troubles.end() ? "" : time_of(found->second, "at");
}

std::string doors_of(const Item& station) {
  const std::string doors = names_of(station, "doors");
  return doors.empty() ? "all" : doors;
}

// As they are typed.
std::string doors_typed(const Item& station) {
  std::string out = doors_of(station);
  std::erase(out, ',');
  return out;
}

// What a form changes of a station.
struct Changeable {
  const char* label;
  const char* key;
  const char* hint;
};
constexpr std::array<Changeable, 5> changeable = {{{"Name", "name", ""},
                                                   {"Profile", "profile", "of volume.toml"},
                                                   {"Address", "address", ""},
                                                   {"Doors", "doors", "all, or some"},
                                                   {"Note", "note", ""}}};

// As a number when it is one; what it must be the method says.
void put_number(json::object& params, const char* key, const std::string& typed) {
  if (const auto number = fs::whole_number(typed)) {
    params[key] = *number;
  } else {
    params[key] = typed;
  }
}

class Room : public Screen {
 public:
  explicit Room(Desk& desk) : Screen("Room"), desk_(desk) {
    add_stations();
    add_sessions();
    add_strangers();
  }

 private:
  void add_stations() {
    auto made = std::make_unique<View>(
        "Stations",
        ListView(
            {field("Station", "station", 7),
             field("Name", "name", 10, 0, 16),
             {{"Who", [this](const Item& item) { return of_those(here_, item, "name"); }},
              10,
              0,
              20},
             {{"Doing", [this](const Item& item) { return of_those(here_, item, "doing"); }},
              10,
              0,
              20},
             {{"Last trouble", [this](const Item& item) { return trouble_of(here_, item); }},
              20,
              1,
              80},
             field("Profile", "profile", 10, 2, 16),
             field("Address", "address", 15, 3)},
            [](const Item& item) { return text_of(item, "name"); },
            [this](const Item& item) {
              return here_.by_station.contains(text_of(item, "name")) ? Look::strong : Look::plain;
            }));
    View& view = *made;
    view.source = rows_of(view, desk_.outbox(), "station.list", {}, now_and_then);
    sessions_ = std::make_unique<Source>(
        desk_.outbox(), "session.list", json::object{}, often, [this, &view](json::array items) {
          here_.by_station.clear();
          for (const auto& each : items) {
            if (!each.is_object()) continue;
            if (std::string name = text_of(each.as_object(), "station"); !name.empty()) {
              here_.by_station.emplace(std::move(name), each.as_object());
            }
          }
          view.list.reword();
        });
    troubles_ = std::make_unique<Source>(
        desk_.outbox(), "why.list", json::object{{"most", most_troubles}}, now_and_then,
        [this, &view](json::array items) {
          here_.troubles.clear();
          for (const auto& each : items) {  // newest first
            if (!each.is_object()) continue;
            if (std::string name = text_of(each.as_object(), "station"); !name.empty()) {
              here_.troubles.emplace(std::move(name), each.as_object());
            }
          }
          view.list.reword();
        });
    view.besides = {sessions_.get(), troubles_.get()};
    view.none = [] {
      return "No station is registered. Machines that came without being known are among the "
             "strangers: Tab, Tab.";
    };
    view.facts = [this](const Item& item) {
      return std::vector<Fact>{{"station", text_of(item, "station")},
                               {"name", text_of(item, "name")},
                               {"who", of_those(here_, item, "name")},
                               {"doing", of_those(here_, item, "doing")},
                               {"last trouble", trouble_of(here_, item)},
                               {"when", time_of_trouble(here_, item)},
                               {"profile", text_of(item, "profile")},
                               {"address", text_of(item, "address")},
                               {"hardware address", text_of(item, "hardware")},
                               {"line", text_of(item, "line")},
                               {"doors", doors_of(item)},
                               {"note", text_of(item, "note")}};
    };
    add_station_acts(view);
    add_reading(view, desk_, "A station");
    views.push_back(std::move(made));
  }

  void add_station_acts(View& view) {
    const auto somebody = [this](const Item& item) { return !person_at(item).empty(); };
    add_act(view, 'c', "change", [this](const Item& item) {
      const std::string name = text_of(item, "name");
      std::string before;
      std::vector<Form::Line> lines;
      for (const auto& [label, key, hint] : changeable) {
        const std::string value =
            std::string_view(key) == "doors" ? doors_typed(item) : text_of(item, key);
        before += fmt::format("{}{}: {}", before.empty() ? "" : ", ", label, value);
        lines.push_back({label, value, hint});
      }
      desk_.open(Form{fmt::format("Station {}, {}", text_of(item, "station"), name),
                      {"A line that is empty takes away what was there."},
                      std::move(lines),
                      [name, before](const auto& values) {
                        json::object params{{"station", name}};
                        for (std::size_t i = 0; i < changeable.size(); ++i) {
                          params[changeable[i].key] = values[i];
                        }
                        return Call{"station.change", std::move(params),
                                    fmt::format("Station {} is changed.", values[0]),
                                    fmt::format("c; it was {}.", before), nullptr};
                      }});
    });
    add_act(
        view, 'n', "notice to who is there",
        [this](const Item& item) {
          desk_.open(notice_form(person_at(item), "They read it at their next prompt."));
        },
        somebody);
    add_act(
        view, 'v', "see files as them",
        [this](const Item& item) { desk_.see_as(person_at(item), "/"); }, somebody);
    add_act(view, 'w', "why?", [this](const Item& item) {
      desk_.ask_why({{"station", text_of(item, "name")}}, text_of(item, "name"));
    });
    add_act(view, 'x', "forget it", [this](const Item& item) {
      const std::string name = text_of(item, "name");
      desk_.open(Form{fmt::format("Forget station {}", name),
                      {"What is known of it goes: its place, its profile, its boot names. The "
                       "machine comes as a stranger then, and can be adopted again.",
                       "Forget it?"},
                      {},
                      [name, number = text_of(item, "station")](const auto&) {
                        return Call{
                            "station.remove",
                            {{"station", name}},
                            fmt::format("Station {} is not known any more.", name),
                            fmt::format("adopt it again as {}, among the strangers.", number),
                            nullptr};
                      }});
    });
  }

  // Who has signed in there; the first when there are several.
  std::string person_at(const Item& station) const {
    const auto [first, end] = here_.by_station.equal_range(text_of(station, "name"));
    for (auto each = first; each != end; ++each) {
      if (is_set(each->second, "signed_in")) return text_of(each->second, "name");
    }
    return "";
  }

  void add_sessions() {
    auto made = std::make_unique<View>(
        "Sessions", ListView({field("Name", "name", 10, 0, 16),
                              field("Station", "station", 10, 0, 16),
                              field("Door", "door", 8, 0, 10),
                              field("Doing", "doing", 12, 0, 30),
                              {time_column("Since", "since"), 16, 1},
                              field("Address", "address", 15, 2, 40),
                              field("Role", "role", 7, 3)},
                             [](const Item& item) { return text_of(item, "number"); }));
    View& view = *made;
    view.source = rows_of(view, desk_.outbox(), "session.list", {}, often);
    view.none = [] { return "Nobody is connected."; };
    view.facts = [](const Item& item) {
      return std::vector<Fact>{
          {"name", text_of(item, "name")},       {"role", text_of(item, "role")},
          {"station", text_of(item, "station")}, {"door", text_of(item, "door")},
          {"address", text_of(item, "address")}, {"since", time_of(item, "since")},
          {"doing", text_of(item, "doing")}};
    };
    add_reading(view, desk_, "A session");
    views.push_back(std::move(made));
  }

  void add_strangers() {
    auto made = std::make_unique<View>(
        "Strangers",
        ListView({field("Address", "address", 15, 0, 40),
                  field("Hardware address", "hardware", 17),
                  {{"Doors", [](const Item& item) { return names_of(item, "doors"); }}, 12, 0, 30},
                  {number_column("Times", "count"), 6, 1},
                  {time_column("Last", "last"), 16, 0},
                  {time_column("First", "first"), 16, 2}},
                 [](const Item& item) { return text_of(item, "address"); }));
    View& view = *made;
    view.source = rows_of(view, desk_.outbox(), "station.unknown", {}, often);
    view.none = [] { return "No unknown machine was here since the service started."; };
    view.facts = [](const Item& item) {
      return std::vector<Fact>{
          {"address", text_of(item, "address")}, {"hardware address", text_of(item, "hardware")},
          {"doors", names_of(item, "doors")},    {"times", text_of(item, "count")},
          {"first", time_of(item, "first")},     {"last", time_of(item, "last")}};
    };
    add_act(view, 'a', "adopt", [this](const Item& item) {
      const std::string address = text_of(item, "address");
      desk_.open(Form{fmt::format("Adopt the machine at {}", address),
                      {"From then on it is known as a station of the room."},
                      {{"Segment", "1", "1 to 127"},
                       {"Number", "", "1 to 254"},
                       {"Name", "", "as owl"},
                       {"Profile", "", "may be empty"}},
                      [address](const auto& values) {
                        json::object params{{"address", address}, {"name", values[2]}};
                        put_number(params, "segment", values[0]);
                        put_number(params, "number", values[1]);
                        if (!values[3].empty()) params["profile"] = values[3];
                        return Call{"station.adopt", std::move(params),
                                    fmt::format("The machine at {} is station {}.{}, {}.", address,
                                                values[0], values[1], values[2]),
                                    "x among the stations forgets it.", nullptr};
                      }});
    });
    add_reading(view, desk_, "A stranger");
    views.push_back(std::move(made));
  }

  Desk& desk_;
  Here here_;
  std::unique_ptr<Source> sessions_;
  std::unique_ptr<Source> troubles_;
};

}  // namespace

std::unique_ptr<Screen> make_room(Desk& desk) {
  return std::make_unique<Room>(desk);
}

}  // namespace stationer::admin::console
